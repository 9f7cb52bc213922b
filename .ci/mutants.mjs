// Builds errors into the client's store and link, one at a time, in a copy of the sources, and runs
// the tests: they must find each. An error whose place in the source is gone fails too. Arguments
// choose errors by name: node .ci/mutants.mjs outbox.
import { execFileSync, spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";

const root = resolve(import.meta.dirname, "..");
const go = process.env.GO ?? "go";
const tests = ["durable", "store", "refused", "link", "shared", "devices", "photos", "back", "two", "versions"];
const [store, outbox, given] = ["store/store.ts", "store/outbox.ts", "store/given.ts"];
const [link, back, pieces] = ["link/link.ts", "link/back.ts", "link/pieces.ts"];
const push = "link/push.ts";

/** Each error: its name, the file, the original text, and the replacement. */
const errors = [
  ["kept is said before it is written", store, "      await done;\n      return result;", "      return result;"],
  ["a change has no place in the outbox", store, 'await tx.objectStore("outbox").add({', "void ({"],
  ["the record is written apart from its change", store, "await Promise.all(puts(tx, drafted.record, before));", ""],
  ["a number is given twice", store, "seq: change.seq, count: Math.max", "seq: was.seq, count: Math.max"],
  ["the clock does not follow what was seen", store, "const seen = Math.max(device.count, merged.count);", "const seen = device.count;"],
  ["the place is written before the records", store, "      const merged = await settle(calc, states", '      await putMeta("link", link);\n      const merged = await settle(calc, states'],
  ["a restored office is offered nothing", store, 'await tx.objectStore("meta").put({ seq: 0, photo: "" }, "offer");', ""],
  ["the records are not rebuilt after a restore", store, 'await tx.objectStore("meta").put(newId(), "rebuild");', "void 0;"],
  ["a copied profile is not noticed", store, "const copied = mine.some((k) => k === undefined);", "const copied = false;"],
  ["a photo is kept as sent", store, "at: Date.now(), sent: 0 }", "at: Date.now(), sent: 1 }"],
  ["records with unsent work go with their site", store, "!sites.includes(r.site) && !unsent.has(r.id)", "!sites.includes(r.site)"],
  ["what another person wrote is sent", outbox, 'index("author").getAll(ofAuthor(author, behind), n)', 'index("author").getAll(null, n)'],
  ["what was refused is forgotten", outbox, 'await tx.objectStore("changes").put({ ...own, quarantined: reason });', "void 0;"],
  ["what is taken in later stays refused", outbox, "else if (own.quarantined !== undefined) await lift(tx, own);", ""],
  ["a stale list of refusals is taken", outbox, "const told = stale ? undefined : answered.refused;", "const told = answered.refused;"],
  ["the list after a refusal is not asked for", outbox, 'if (answered.quarantined.some((r) => !names.has(r.id))) await tx.objectStore("meta").delete("refused");', ""],
  ["what left the list of refusals stays refused", outbox, "if (own.listed || (whole", "if ((whole"],
  ["what a whole list of refusals lacks stays refused", outbox, "if (own.listed || (whole && !now.has(own.id)))", "if (own.listed)"],
  ["what was refused just now is lifted by an older list", outbox, "(whole && !now.has(own.id))", "whole"],
  ["a list of refusals that is cut is taken for the whole", outbox, "const whole = reported.list.length < mostRefusals;", "const whole = true;"],
  ["one person's list of refusals is taken for another's", outbox, "if ((own.change.author ?? user?.id) !== user?.id || reasons.has(own.id)) continue;", "if (reasons.has(own.id)) continue;"],
  ["which list of refusals came is not kept", outbox, 'await tx.objectStore("meta").put(told.name, "refused");', ""],
  ["what came back of refused changes stays refused", outbox, "const own = came.has(id) ?", 'const own = came.has("") ?'],
  ["what came back stays in the outbox", outbox, "for (const o of waits) if (came.has(o.id)) await outbox.delete(o.seq);", ""],
  ["that the office is older is not said", link, 'reply.newer ? "newer" : "server"', '"server"'],
  ["what was taken stays in the outbox", outbox, 'await tx.objectStore("outbox").delete(own.seq);', ""],
  ["a piece has no bound of length", outbox, "if (list.length > 0 && long + length > size) break;", ""],
  ["photos are not offered again", outbox, "if (p && p.sent !== 0)", "if (p && p.sent === 2)"],
  ["the outbox is emptied on sending", link, "      const changes = await store.waiting(most, pieceSize);", '      const changes = await store.waiting(most, pieceSize);\n      await store.receive([], place as never, { acknowledged: changes.map((c) => c.id), quarantined: [] });'],
  ["any page is taken for a reply", link, 'if (reply.nonce !== nonce) throw new LinkError("portal");', ""],
  ["silence is taken for an acknowledgement", link, "const acknowledged = reply.acknowledged ?? [];", "const acknowledged = changes.map((c) => c.id);"],
  ["two devices go by one id", link, "if (reply.twin === true) await store.fork();", ""],
  ["what is too large is sent again and again", link, "most = changes.length >> 1;", ""],
  ["the first kinds move the place", link, "await store.receive(reply.changes ?? [], place, { acknowledged: [], quarantined: [] });", "await store.receive(reply.changes ?? [], { ...place, cursor: reply.cursor }, { acknowledged: [], quarantined: [] });"],
  ["a refused photo is marked as sent", pieces, "refused = put.status;\n        continue;", "refused = put.status;"],
  ["a second piece does not wait for the first", push, "lane: 1, after: nonce", "lane: 1"],
  ["two pieces are told by one chain of replies", push, "lane: 1, after", "after"],
  ["the answer to a second piece is not read", push, "...(two.acknowledged ?? [])", ""],
  ["the first piece is taken for lost with the second", push, "ask(next, { limit: 1, lane: 1, after: nonce }).catch(() => undefined)", "ask(next, { limit: 1, lane: 1, after: nonce })"],
  ["an office of before is sent two pieces", push, "speaks >= lanes", "speaks >= 0"],
  ["the first piece of a photo is taken for the whole", pieces, "answer.status !== 202 && ", "answer.status === 202 || "],
  ["a photo is begun again at each break", pieces, "let from = arrived(head);", "let from = arrived(head) * 0;"],
  ["what was given is not kept", store, "if (given) await putGiven", "if (false as boolean && given) await putGiven"],
  ["what was given is dropped before it is brought back", link, "if (!(await store.nextGiven())) await store.forgetGiven();", "await store.forgetGiven();"],
  ["what was given is written anew", back, '"changes":${text}}]`', '"changes":${JSON.stringify(JSON.parse(text))}}]`'],
  ["another office is brought what this one gave", given, "if (at.value.store === back.store) return at.value;", "return at.value;"],
  ["what was given has no bound", given, "at && all > most; at", "at && all < 0; at"],
];

const dir = mkdtempSync(join(tmpdir(), "mutants-"));
let bad = 0;
let last = ""; // the output of the tests
const ended = "no end";
try {
  const web = join(dir, "webapp");
  mkdirSync(join(web, "test"), { recursive: true });
  cpSync(join(root, "webapp/src"), join(web, "src"), { recursive: true });
  for (const name of ["office-played.ts", "module.ts", ...tests.map((t) => `${t}.test.ts`)])
    cpSync(join(root, "webapp/test", name), join(web, "test", name));
  for (const name of ["package.json", "tsconfig.base.json", "tsconfig.json", "tsconfig.test.json"])
    cpSync(join(root, "webapp", name), join(web, name));
  symlinkSync(join(root, "webapp/node_modules"), join(web, "node_modules"));
  const [bundler, wasm] = [join(dir, "webbuild"), join(dir, "calc.wasm")];
  execFileSync(go, ["build", "-o", bundler, "./cmd/webbuild"], { cwd: root, stdio: "inherit" });
  const env = { ...process.env, GOOS: "wasip1", GOARCH: "wasm" };
  execFileSync(go, ["build", "-buildmode=c-shared", "-trimpath", "-o", wasm, "./cmd/gaugewasm"], { cwd: root, env, stdio: "inherit" });
  /** played bundles and runs the tests, and gives the first that fails; "" if all pass. */
  const played = () => {
    execFileSync(bundler, ["-test", "-root", dir, "-wasm", wasm], { stdio: ["ignore", "ignore", "inherit"] });
    for (const t of tests) {
      const r = spawnSync(process.execPath, ["--test", "--test-timeout=60000", join(dir, "bin/webtest", `${t}.test.mjs`)], {
        cwd: root,
        encoding: "utf8",
        timeout: 300_000,
      });
      last = r.stdout;
      if (r.status === 0) continue;
      const failed = [...r.stdout.matchAll(/^not ok \d+ - (.*)$/gm)].find((m) => !m[1].endsWith(".mjs"));
      return failed?.[1] ?? ended; // a file that did not end, which can happen on a busy machine, proves nothing
    }
    return "";
  };
  const chosen = process.argv.slice(2);
  const clean = played();
  if (clean !== "") throw new Error(`without an error built in, this fails: ${clean}\n${last}`);
  let n = 0;
  for (const [name, file, ...changes] of errors) {
    if (chosen.length > 0 && !chosen.some((c) => name.includes(c))) continue;
    const path = join(web, "src", file);
    const text = readFileSync(path, "utf8");
    n++;
    if (changes.some((c, i) => i % 2 === 0 && text.split(c).length !== 2)) {
      console.log(`${name}: its place in ${file} is gone, or is not one`);
      bad++;
      continue;
    }
    let other = text;
    for (let i = 0; i < changes.length; i += 2) other = other.replace(changes[i], () => changes[i + 1]);
    writeFileSync(path, other);
    const found = played();
    writeFileSync(path, text);
    if (found === "" || found === ended) bad++;
    console.log(`${name}: ${found === "" ? "NOT FOUND" : found === ended ? "NO END" : `found by "${found}"`}`);
  }
  if (n === 0) throw new Error("no error has such a name");
  console.log(`${n - bad} of ${n} errors were found`);
} finally {
  rmSync(dir, { recursive: true, force: true });
}
process.exitCode = bad === 0 ? 0 : 1;
