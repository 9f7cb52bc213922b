// The folders of webapp/src and what each may import. This table is policy: change it in a commit
// of its own, with the reason. main → shell → screens/* → forms → views → nav → records → link →
// store → calc → wire; parts show what they are given; words are texts.
import { readdirSync, readFileSync } from "node:fs";
import { join, posix, resolve } from "node:path";

const src = resolve(import.meta.dirname, "../webapp/src");

/**
 * What each folder may import besides itself. A screen never imports another screen or the shell.
 */
export const may = {
  main: "shell nav",
  shell: "screens forms views nav records parts words link store wire",
  screens: "forms views nav records parts words link store calc wire",
  forms: "views nav records parts words link store calc wire",
  views: "nav records parts words store calc scan wire",
  nav: "records parts words link store calc wire",
  records: "words store calc wire",
  parts: "words",
  words: "wire",
  link: "store wire",
  store: "calc wire",
  scan: "calc wire",
  calc: "wire",
  wire: "",
  calcworker: "wire", // separate realms: they share only wire
  scanworker: "wire",
  sw: "",
  verify: "words scan", // a separate page
};

/** folderOf names the folder of a path below src. Each screen counts as its own folder. */
export function folderOf(path) {
  const parts = path.split("/");
  if (parts.length === 1) return "main";
  return parts[0] === "screens" ? `screens/${parts[1]}` : parts[0];
}

/**
 * crossed lists the imports that the table does not allow. files are pairs of a path below src and
 * its text.
 */
export function crossed(files, table = may) {
  const wrong = [];
  for (const [path, text] of files) {
    const from = folderOf(path);
    const kind = from.split("/")[0];
    if (table[kind] === undefined) wrong.push(`${path}: the folder ${kind} is not in the table`);
    for (const m of text.matchAll(/\b(?:from|import)\s*\(?\s*"(\.[^"]+)"/g)) {
      const to = folderOf(posix.join(posix.dirname(path), m[1]));
      if (to === from) continue;
      const allowed = !to.startsWith("screens/") || kind === "shell";
      if (!allowed || !(table[kind] ?? "").split(" ").includes(to.split("/")[0]))
        wrong.push(`${path} imports ${m[1]}: ${from} may not import ${to}`);
    }
  }
  return wrong;
}

/** read gives every source file of the client. */
export function read() {
  return readdirSync(src, { recursive: true })
    .map((f) => f.replaceAll("\\", "/"))
    .filter((f) => /\.tsx?$/.test(f))
    .map((f) => [f, readFileSync(join(src, f), "utf8")]);
}

/** idle lists the rows and entries of the table that no file needs. */
export function idle(files, table = may) {
  const seen = new Set();
  for (const [path, text] of files) {
    const kind = folderOf(path).split("/")[0];
    seen.add(kind);
    for (const m of text.matchAll(/\b(?:from|import)\s*\(?\s*"(\.[^"]+)"/g))
      seen.add(`${kind} ${folderOf(posix.join(posix.dirname(path), m[1])).split("/")[0]}`);
  }
  return Object.entries(table).flatMap(([kind, list]) =>
    [
      kind,
      ...list
        .split(" ")
        .filter(Boolean)
        .map((to) => `${kind} ${to}`),
    ]
      .filter((key) => !seen.has(key))
      .map((key) => `${key}: no file needs this`),
  );
}

if (process.argv[1] === import.meta.filename) {
  const files = read();
  const wrong = [...crossed(files), ...idle(files)];
  for (const w of wrong) console.log(w);
  console.log(`${files.length} files, ${wrong.length} imports against the table`);
  process.exitCode = wrong.length === 0 ? 0 : 1;
}
