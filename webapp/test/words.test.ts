import assert from "node:assert/strict";
import { test } from "node:test";
import fc from "fast-check";
import { readTag } from "../src/scan/tag";
import { readRoute } from "../src/nav/route";
import { many, newId, type RecordState, value } from "../src/wire/records";
import { merging } from "./module";
import { askContested, contested } from "../src/records/contested";
import { historyWords } from "../src/words/history";
import { pathName } from "../src/words/member-names";
import { readDecimal, setDecimalMark, showAge, showDecimal } from "../src/words/words";

test("each path opens its screen", () => {
  const rows: [string, ReturnType<typeof readRoute>][] = [
    ["/", { kind: "round" }],
    ["/round", { kind: "round" }],
    ["/find/", { kind: "find" }],
    ["/device", { kind: "device" }],
    ["/t/AB12cd", { kind: "label", label: "ab12cd" }],
    ["/instrument/x%20y", { kind: "instrument", id: "x y" }],
    ["/visit/abc", { kind: "visit", id: "abc" }],
    ["/office", { kind: "office", path: "/office" }],
    ["/office/visits/abc", { kind: "office", path: "/office/visits/abc" }],
    ["/visit", { kind: "missing" }],
    ["/visit/a/b", { kind: "missing" }],
    ["/t/%E0%A4%A", { kind: "missing" }],
    ["/elsewhere", { kind: "missing" }],
  ];
  for (const [path, want] of rows) assert.deepEqual(readRoute(path), want, path);
});

test("any path leads to a screen and never throws", () => {
  fc.assert(
    fc.property(fc.webPath(), (path) => {
      assert.ok(readRoute(path).kind);
    }),
  );
});

test("our labels are told from foreign codes", () => {
  const rows: [string, ReturnType<typeof readTag>][] = [
    ["https://plant.example/t/7qk2m9xd", { kind: "label", label: "7qk2m9xd" }],
    ["http://10.0.0.7:8080/t/7QK2M9XD/", { kind: "label", label: "7qk2m9xd" }],
    ["https://plant.example/t/7qk2m9xd?x=1", { kind: "foreign", text: "https://plant.example/t/7qk2m9xd?x=1" }],
    ["https://plant.example/other/t/7qk2m9xd", { kind: "foreign", text: "https://plant.example/other/t/7qk2m9xd" }],
    ["javascript:alert(1)//x/t/7qk2m9xd", { kind: "foreign", text: "javascript:alert(1)//x/t/7qk2m9xd" }],
    ["https://plant.example/programmes/take#1AB$*+-./:E", { kind: "programme", signs: "1AB$*+-./:E" }],
    ["https://plant.example/programmes#1ABE", { kind: "foreign", text: "https://plant.example/programmes#1ABE" }],
    [" WIFI:S:plant;; ", { kind: "foreign", text: "WIFI:S:plant;;" }],
  ];
  for (const [code, want] of rows) assert.deepEqual(readTag(code), want, code);
});

test("a decimal keeps its digits through the decimal comma", () => {
  setDecimalMark(",");
  assert.equal(showDecimal("2.50"), "2,50");
  assert.equal(showDecimal("-1.5e-05"), "\u22121,5\u00a0\u00d7\u00a010\u207b\u2075", "no e in a number");
  assert.equal(showDecimal(2e21), "2\u00a0\u00d7\u00a010\u00b2\u00b9");
  assert.equal(readDecimal("2,50"), "2.50");
  assert.equal(readDecimal("\u22120,5"), "-0.5");
  setDecimalMark(".");
  for (const bad of ["", "1,2,3", "1.2.3", "1e5", "abc", "-", "."]) assert.equal(readDecimal(bad), undefined, bad);
});

test("ages are shown in a suitable unit", () => {
  const now = 1_000_000_000_000;
  assert.equal(showAge(now - 59_000, now), "just now");
  assert.equal(showAge(now - 60_000, now), "1 min ago");
  assert.equal(showAge(now - 3_600_000, now), "1 h ago");
  assert.equal(showAge(now - 3 * 86_400_000, now), "3 days ago");
  assert.equal(showAge(now + 5_000, now), "just now"); // the clock was set back
});

test("a field with two different heads is contested, with two equal ones it is not", async () => {
  const head = (change: string, v: string) => ({
    change,
    value: v,
    author: "a",
    device: "d",
    wall: "w",
    stamp: `${change.padStart(12, "0")}-000000000000-d`,
  });
  const r: RecordState = {
    id: "r",
    kind: "instrument",
    site: "",
    parent: "",
    fields: {
      place: { heads: [head("2", "roof"), head("1", "cellar")], replaced: [] },
      note: { heads: [head("2", "same"), head("1", "same")], replaced: [] },
      "capture.b": { heads: [head("2", "later")], replaced: [] },
      "capture.a": { heads: [head("3", "latest")], replaced: [] },
    },
  };
  assert.deepEqual(
    ["place", "note", "capture.b"].map((f) => contested(r, f)),
    [true, true, false],
    "until it is known",
  );
  await askContested([r], merging);
  assert.equal(contested(r, "place"), true);
  assert.equal(contested(r, "note"), false);
  assert.equal(value(r, "place"), "roof");
  assert.equal(value(r, "absent"), undefined);
  assert.deepEqual(many(r, "capture"), [
    ["b", "later"],
    ["a", "latest"],
  ]);
});

test("ids are 26 characters of the alphabet and differ", () => {
  const ids = new Set(Array.from({ length: 500 }, newId));
  assert.equal(ids.size, 500);
  for (const id of ids) assert.match(id, /^[0-9a-hjkmnp-tv-z]{26}$/);
});

test("ids of one time begin alike, later ones are greater, and any clock makes one", () => {
  const at = Date.parse("2026-03-04T05:06:07.089Z");
  assert.equal(newId(at).slice(0, 10), newId(at).slice(0, 10));
  assert.equal(new Set([newId(at), newId(at), newId(at)]).size, 3);
  for (const [earlier, later] of [
    [at, at + 1],
    [0, at],
    [at, at + 100 * 366 * 86_400_000],
  ] as const)
    assert.ok(newId(earlier).slice(0, 10) < newId(later).slice(0, 10));
  for (const clock of [-1, 0, 8.64e15]) assert.match(newId(clock), /^[0-9a-hjkmnp-tv-z]{26}$/);
});

test("an entry of a list stands by what it is known by, else by its number", () => {
  const rows: [string, { [path: string]: string } | undefined, string][] = [
    ["high", undefined, "high end"],
    ["2.high", { 2: "0 … 20 bar" }, "0 … 20 bar, high end"],
    ["2.high", {}, "entry 2, high end"],
    ["ranges.2.high", { "ranges.2": "0 … 20 bar" }, "ranges 0 … 20 bar, high end"],
    ["series.2.exercise", undefined, "series 2, preloads"],
  ];
  for (const [path, named, want] of rows) assert.equal(pathName(path, named), want);
});

test("an advice of a group, which has no one date, does not break off", () => {
  assert.equal(historyWords.advise("reduce", 6, ""), "shorten to 6 months");
  assert.match(historyWords.advise("reduce", 6, "1 May 2027"), /^shorten to 6 months: next due 1 May 2027$/);
});
