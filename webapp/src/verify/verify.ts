import { type Camera, readPicture, watch } from "../scan/scan";
import { inGerman, verifyWords as words } from "../words/verify";
import { able, Bad, check, checkCode, codeIn, type List, type Outcome, readList } from "./check";

type Child = Node | string;

function el(tag: string, props: Record<string, string>, ...kids: Child[]): HTMLElement {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(props)) e.setAttribute(k, v);
  e.append(...kids);
  return e;
}

const result = el("section", { "aria-live": "polite" });
const video = el("video", { hidden: "", playsinline: "", muted: "" }) as HTMLVideoElement;
const keptAs = "gaugewright-verify-list";

/**
 * lists fetches the laboratory's list. Without a connection it takes the one that was fetched
 * before.
 */
async function lists(): Promise<{ list: List; kept: boolean } | undefined> {
  try {
    const answer = await fetch("/api/verify", { cache: "no-store", credentials: "omit" });
    if (!answer.ok) throw new Error(String(answer.status));
    const file = await answer.text();
    const list = await read(file);
    try {
      localStorage.setItem(keptAs, file);
    } catch {
      // A browser that stores nothing fetches it again.
    }
    return { list, kept: false };
  } catch (e) {
    if (e instanceof Odd) throw e; // a list that nobody signed is not the same as none
    const file = localStorage.getItem(keptAs);
    return file === null ? undefined : { list: await read(file), kept: true };
  }
}

/** Odd is thrown for a list that does not hold: it says nothing of a certificate. */
class Odd extends Error {}

const read = (file: string): Promise<List> =>
  readList(file).catch(() => {
    throw new Odd();
  });

function show(kind: "good" | "bad" | "mixed", head: string, ...kids: Child[]): void {
  const marks = { good: "✓", bad: "✗", mixed: "!" };
  const mark = el("span", { "aria-hidden": "true", class: "mark" }, marks[kind]);
  result.className = kind;
  result.replaceChildren(el("h2", {}, mark, head), ...kids);
}

function facts(o: Outcome): HTMLElement {
  const list = el("dl", {});
  const fact = (name: string, value: string) => {
    if (value !== "") list.append(el("dt", {}, name), el("dd", {}, value));
  };
  fact(words.number, o.code.number);
  fact(words.item, o.code.cut ? `${words.begins} ${o.code.item}` : o.code.item);
  fact(words.date, o.code.date);
  fact(words.found, o.code.found || words.none);
  fact(words.left, o.code.left || words.none);
  fact(words.replaces, o.replaces);
  fact(words.print, o.code.print);
  fact(words.signed, o.kid);
  return list;
}

function tell(o: Outcome, list: List, kept: boolean): void {
  const notes: Child[] = [];
  const until = o.key.until.slice(0, 10);
  const late = until !== "" && o.code.date > until;
  if (!late && until !== "") notes.push(el("p", {}, words.ended(until, o.key.why)));
  if (kept) notes.push(el("p", {}, words.keptFrom(list.at.slice(0, 10))));
  notes.push(facts(o), el("p", { class: "quiet" }, words.shows));
  if (late) show("bad", words.bad, el("p", { class: "strong" }, words.after(until)), ...notes);
  else if (o.replacedBy === "") show("good", words.holds[o.kind], ...notes);
  else show("mixed", words.replaced(o.replacedBy), el("p", {}, words.holds[o.kind]), ...notes);
}

async function judge(work: (list: List) => Promise<Outcome>): Promise<void> {
  result.className = "";
  result.replaceChildren(el("p", {}, words.working));
  if (!(await able())) {
    show("mixed", words.unable);
    return;
  }
  try {
    const got = await lists();
    if (!got) return show("mixed", words.unreached);
    tell(await work(got.list), got.list, got.kept);
  } catch (e) {
    if (e instanceof Odd) show("mixed", words.odd);
    else show("bad", words.bad, el("p", {}, words.why[e instanceof Bad ? e.why : "form"]));
  }
}

async function take(file: Blob): Promise<void> {
  if (file.type.startsWith("image/")) {
    const code = await readPicture(file).catch(() => "");
    if (code === "") show("mixed", words.nothing);
    else await judge((list) => checkCode(code, list));
    return;
  }
  const bytes = new Uint8Array(await file.arrayBuffer());
  await judge((list) => check(bytes, list));
}

function chooser(label: string, accept: string): HTMLElement {
  const input = el("input", { type: "file", accept }) as HTMLInputElement;
  input.addEventListener("change", () => {
    const file = input.files?.[0];
    if (file) void take(file);
    input.value = "";
  });
  return el("label", { class: "button" }, label, input);
}

function scanner(): HTMLElement {
  const button = el("button", { type: "button", class: "button" }, words.scan);
  let camera: Camera | undefined;
  const stop = () => {
    camera?.stop();
    camera = undefined;
    video.hidden = true;
    button.textContent = words.scan;
  };
  const found = (code: string) => {
    stop();
    void judge((list) => checkCode(code, list));
  };
  button.addEventListener("click", async () => {
    if (camera) {
      stop();
      return;
    }
    video.hidden = false;
    try {
      camera = await watch(video, found);
      button.textContent = words.stop;
    } catch {
      stop();
      show("mixed", words.refused);
    }
  });
  return button;
}

function byAddress(): void {
  if (location.hash.length > 1) void judge((list) => checkCode(codeIn(location.hash), list));
}

document.title = words.title;
if (inGerman) document.documentElement.lang = "de";
document.body.append(
  el(
    "main",
    {},
    el("h1", {}, words.title),
    el("p", {}, words.lead),
    el(
      "div",
      { class: "ways" },
      scanner(),
      chooser(words.photo, "image/*"),
      chooser(words.file, ".pdf,.xml,.json,application/pdf,text/xml,application/json"),
      el("span", { class: "quiet drop" }, words.drop),
    ),
    video,
    result,
  ),
);
document.addEventListener("dragover", (e) => e.preventDefault());
document.addEventListener("drop", (e) => {
  e.preventDefault();
  const file = e.dataTransfer?.files[0];
  if (file) void take(file);
});
addEventListener("hashchange", byAddress);
byAddress();
