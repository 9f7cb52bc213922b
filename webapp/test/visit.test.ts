import assert from "node:assert/strict";
import { test } from "node:test";
import fc from "fast-check";
import { type PadKey, press, step, tidy } from "../src/parts/number-pad-state";
import { fitted } from "../src/screens/visit/photo";
import {
  asksOf,
  entryFor,
  helping,
  holdFrom,
  isApproved as approved,
  nowOn,
  resumeAt as resumeKnown,
  returnedSince as returnedOf,
  screenDone,
  screensOf,
  secondsLeft,
  stageOf as stageKnown,
  stepsOf,
} from "../src/records/run";
import { correctedSince, papersOf } from "../src/screens/visit/amend";
import { forgetDrafts } from "../src/screens/visit/draft";
import { unsafeIn } from "../src/records/halts";
import { reported } from "../src/records/rules";
import { sheetOf as sheetKnown } from "../src/records/sheet";
import { readConditions, readHead } from "../src/screens/visit/surroundings";
import type { Json, RecordState } from "../src/wire/records";
import { readDecimal } from "../src/words/words";
import { effectiveOf as effective, known, ruled } from "./module";

// The results of these functions depend on the module's answers about the records in their present
// state.
const resumeAt = (run: RecordState, on: typeof screens) => resumeKnown(known(run), on);
const after =
  <A extends unknown[], R>(say: (visit: RecordState, ...more: A) => R) =>
  (visit: RecordState, ...more: A): R => {
    ruled(visit, Array.isArray(more[0]) && more.length === 1 ? more[0] : []);
    return say(visit, ...more);
  };
const stageOf = after(stageKnown);
const speaking = after(reported);
const isApproved = after(approved);
const returnedSince = after(returnedOf);
const sheetOf = after(sheetKnown);

let clock = 0;

test("correcting any field that the rules give to the evaluation makes the runs be judged again", () => {
  // The names in Basis of calc/visit/sheet.go, except the method and the start, which stay.
  const basis = ["item", "standard", "meter", "barometer", "surroundings", "head", "cautions", "identity"];
  for (const field of [...basis, "condition", "service"]) {
    const visit = made("visit", { [field]: {}, signature: {} });
    assert.equal(correctedSince(visit), false, field);
    assert.equal(correctedSince(write(visit, field, { oxygen: "no" })), true, field);
  }
  const noted = write(made("visit", { signature: {} }), "note", "x");
  assert.equal(correctedSince(noted), false, "a note judges nothing");
  assert.equal(correctedSince(made("visit", { service: {} })), false, "it is not signed");
});

/** A record whose fields were written in the order given. */
function made(kind: string, fields: { [name: string]: Json }, id = `r${clock}`): RecordState {
  const state: RecordState = { id, kind, site: "s", parent: "v", fields: {} };
  for (const [name, value] of Object.entries(fields)) write(state, name, value);
  return state;
}
function write(state: RecordState, name: string, value: Json): RecordState {
  const stamp = String(++clock).padStart(12, "0");
  state.fields[name] = {
    heads: [{ change: `c${clock}`, value, author: "u", device: "d", wall: "", stamp }],
    replaced: [],
  };
  return state;
}

const plan: Json = {
  steps: [
    { id: "e", do: "exercise", screen: 1, target: "10", unit: "bar", count: 2 },
    { id: "v", do: "vent", screen: 2 },
    { id: "s0", do: "set", screen: 3, direction: "up", target: "0", unit: "bar" },
    { id: "h0", do: "hold", screen: 3, seconds: 30 },
    { id: "r0", do: "read", screen: 3, of: "indicated", target: "0", unit: "bar" },
    { id: "s1", do: "set", screen: 4, direction: "up", target: "10", unit: "bar" },
    { id: "r1", do: "read", screen: 4, of: "indicated", target: "10", unit: "bar" },
    { id: "w", do: "hold", screen: 5, seconds: 60 },
  ],
};
const screens = screensOf(stepsOf(plan));
const at = (t: string): Json => ({ at: t });
const capture = (stepId: string, value: string, more: { [name: string]: Json } = {}): Json => ({
  step: stepId,
  of: "indicated",
  value,
  unit: "bar",
  at: "",
  ...more,
});

test("steps of one screen are shown together, in the plan's order", () => {
  assert.deepEqual(
    screens.map((s) => s.map((x) => x.id).join(" ")),
    ["e", "v", "s0 h0 r0", "s1 r1", "w"],
  );
  assert.deepEqual(screensOf(stepsOf(undefined)), []);
});

test("a run continues where its records end", () => {
  const run = made("run", { label: "as found", plan });
  assert.equal(resumeAt(run, screens), 0);
  write(run, "done.e", at("2026-01-01T08:00:00Z"));
  assert.equal(resumeAt(run, screens), 1);
  write(run, "done.v", at("2026-01-01T08:01:00Z"));
  write(run, "done.s0", at("2026-01-01T08:02:00Z"));
  assert.equal(resumeAt(run, screens), 2, "set, but not read");
  write(run, "capture.a", capture("r0", "0.05", { of: "before_tap" }));
  assert.equal(resumeAt(run, screens), 2, "a value before the tap is not the reading");
  write(run, "capture.b", capture("r0", "0.02"));
  assert.equal(resumeAt(run, screens), 3);
  write(run, "done.s1", at("2026-01-01T08:03:00Z"));
  write(run, "capture.c", capture("r1", "10.0"));
  assert.equal(resumeAt(run, screens), 4, "a screen that only waits is not skipped");
  write(run, "done.w", at("2026-01-01T08:05:00Z"));
  assert.equal(resumeAt(run, screens), 5);
});

test("a correction replaces the first value, which is kept", () => {
  const run = made("run", { label: "as found" });
  write(run, "capture.a", capture("r0", "2.50"));
  write(run, "capture.b", capture("r1", "9"));
  write(run, "capture.c", capture("r0", "2.60", { supersedes: "a", reason: "mistyped" }));
  write(run, "capture.d", capture("r0", "2.6", { supersedes: "c", reason: "read again" }));
  const now = effective(run);
  assert.deepEqual(
    now.map((e) => [e.step, e.value, e.earlier.map((x) => x.value)]),
    [
      ["r1", "9", []],
      ["r0", "2.6", ["2.60", "2.50"]],
    ],
  );
  assert.equal(entryFor(now, "r0", "indicated")?.reason, "read again");
  assert.equal(entryFor(now, "r0", "before_tap"), undefined);
});

test("captures that supersede each other in a ring cause no endless loop", () => {
  const run = made("run", {});
  write(run, "capture.a", capture("r0", "1", { supersedes: "b" }));
  write(run, "capture.b", capture("r0", "2", { supersedes: "a" }));
  write(run, "capture.c", capture("r0", "3", { supersedes: "b" }));
  assert.deepEqual(
    effective(run).map((e) => e.value),
    ["3"],
  );
});

test("tapping first asks for the value before it, which may be left out", () => {
  const asks = (tap: boolean) => asksOf(screens[2] ?? [], tap).map((a) => [a.step.id, a.of, a.optional]);
  assert.deepEqual(asks(true), [
    ["r0", "before_tap", true],
    ["r0", "indicated", false],
  ]);
  assert.deepEqual(asks(false), [["r0", "indicated", false]]);
});

test("a wait follows the wall clock from the moment the pressure was set", () => {
  const run = made("run", {});
  const screen = screens[2] ?? [];
  const hold = screen[1] ?? assert.fail("no hold");
  assert.equal(holdFrom(run, screen, hold), undefined);
  write(run, "done.s0", at("2026-01-01T08:00:00.000Z"));
  const from = Date.parse("2026-01-01T08:00:00.000Z");
  assert.equal(holdFrom(run, screen, hold), from);
  assert.equal(secondsLeft(from, 30, from + 100), 30);
  assert.equal(secondsLeft(from, 30, from + 29_001), 1);
  assert.equal(secondsLeft(from, 30, from + 3_600_000), 0, "an hour behind a locked screen");
  assert.equal(secondsLeft(from, 30, from - 3_600_000), 30, "a clock that was set back");
});

test("the stage of a visit follows from its records", () => {
  const visit = made("visit", { instrument: "i" }, "v");
  const runs: RecordState[] = [];
  const stage = () => stageOf(visit, runs).kind;
  assert.equal(stage(), "cautions");
  write(visit, "cautions", { codes: [], at: "" });
  assert.equal(stage(), "identity");
  write(visit, "identity", { ok: true, note: "" });
  assert.equal(stage(), "identity", "condition is still missing");
  write(visit, "condition", { ok: true, note: "" });
  assert.equal(stage(), "standard");
  write(visit, "standard", { id: "s" });
  assert.equal(stage(), "surroundings");
  write(visit, "surroundings", { temperature_c: "21" });
  assert.deepEqual(stageOf(visit, runs), { kind: "begin", label: "as found" });
  const found = made("run", { label: "as found", plan }, "found");
  runs.push(found);
  assert.equal(stage(), "run");
  write(found, "closed", { at: "" });
  assert.equal(stage(), "adjusted");
  write(visit, "adjusted", { done: true, note: "zero" });
  assert.deepEqual(stageOf(visit, runs), { kind: "begin", label: "as left" });
  runs.push(write(made("run", { label: "as left", plan }, "left"), "closed", { at: "" }));
  assert.equal(stage(), "finish");
  write(visit, "signature", { name: "A", at: "" });
  assert.equal(stage(), "done");
  write(visit, "returned.x", { remark: "read the top point again" });
  assert.equal(stage(), "finish");
  assert.deepEqual(returnedSince(visit), ["read the top point again"]);
  runs.push(made("run", { label: "repeat", plan }, "again"));
  assert.equal(stage(), "run");
  write(runs.at(-1) ?? found, "closed", { at: "" });
  write(visit, "signature", { name: "A", at: "" });
  assert.equal(stage(), "done");
});

test("an approved visit that the office reopens must be signed and approved again", () => {
  const visit = made(
    "visit",
    { cautions: {}, identity: {}, condition: {}, standard: {}, surroundings: {}, adjusted: { done: false } },
    "v",
  );
  const found = made("run", { label: "as found", plan, closed: at("") }, "found");
  write(visit, "signature", { name: "A", at: "", covers: ["c1"] });
  write(visit, "approval", { certificate: "k" });
  assert.ok(isApproved(visit));
  assert.equal(stageOf(visit, [found]).kind, "done");
  write(visit, "reopened.x", { reason: "another serial" });
  assert.ok(!isApproved(visit));
  assert.deepEqual(returnedSince(visit), ["another serial"]);
  assert.equal(stageOf(visit, [found]).kind, "finish");
  assert.equal(stageOf(visit, []).kind, "done", "a device without the runs does not begin new ones");
  write(visit, "signature", { name: "A", at: "", covers: ["c1"] });
  assert.deepEqual(returnedSince(visit), []);
  assert.equal(stageOf(visit, [found]).kind, "done");
  write(visit, "approval", { certificate: "l" });
  assert.ok(isApproved(visit));
  assert.deepEqual(returnedSince(visit), []);
});

test("reopening a visit alters no result; a run begun since then is reported", () => {
  const visit = made("visit", {}, "v");
  const found = made("run", { label: "as found", finding: finding(true, 1), closed: at("") }, "found");
  const again = made("run", { label: "repeat", finding: finding(true, 2), closed: at("") }, "again");
  write(visit, "approval", {});
  write(visit, "reopened.x", { reason: "x" });
  assert.equal(speaking(visit, [again, found]).found?.id, "found");
  const later = made("run", { label: "repeat", finding: finding(true, 3), closed: at("") }, "later");
  assert.equal(speaking(visit, [again, later, found]).found?.id, "later");
});

test("each certificate of a visit knows the one that replaced it", () => {
  const paper = (number: string, replaces?: string) =>
    made("certificate", { number, ...(replaces ? { replaces } : {}) }, number);
  const list = papersOf([
    paper("2026-00002", "2026-00001"),
    made("run", {}, "r"),
    paper("2026-00003", "2026-00002"),
    paper("2026-00001"),
  ]);
  assert.deepEqual(
    list.map(({ paper: p, by }) => [p.id, by?.id]),
    [
      ["2026-00001", "2026-00002"],
      ["2026-00002", "2026-00003"],
      ["2026-00003", undefined],
    ],
  );
});

const finding = (complete: boolean, error: number): Json => ({
  verdict: "pass",
  complete,
  worst: { fraction: 0.4 },
  readings: [{ step: "r0", point: 0, direction: "up", error, limit_high: 0.1 }],
});

test("the completed as-found run is reported, whatever was repeated after it", () => {
  const visit = made("visit", {}, "v");
  const found = made("run", { label: "as found", finding: finding(true, 1), closed: at("") }, "found");
  const again = made("run", { label: "repeat", finding: finding(true, 2), closed: at("") }, "again");
  const left = made("run", { label: "as left", finding: finding(true, 3), closed: at("") }, "left");
  assert.deepEqual(
    [speaking(visit, [left, again, found]).found?.id, speaking(visit, [left, again, found]).left?.id],
    ["found", "left"],
  );
  write(found, "finding", finding(false, 1));
  assert.equal(speaking(visit, [found, again, left]).found?.id, "again");
  const short = ruled(visit, [found, again]).summary;
  assert.deepEqual(short, {
    as_found: { verdict: "pass", worst_fraction: 0.4, points: [{ point: 0, direction: "up", error: 2, limit: 0.1 }] },
  });
});

test("a signature covers every change of the visit and its runs, replaced ones too", () => {
  const run = made("run", { label: "as found" }, "r");
  run.fields["note"] = {
    heads: [{ change: "z", value: "", author: "", device: "", wall: "", stamp: "" }],
    replaced: ["y"],
  };
  const visit = made("visit", { item: {}, surroundings: {} }, "v");
  const { covers } = ruled(visit, [run, made("certificate", { number: "1" })]);
  assert.equal(covers.length, 5);
  assert.ok(
    covers.includes("z") && covers.includes("y") && covers.includes(visit.fields["item"]?.heads[0]?.change ?? ""),
  );
});

test("a decision applies to the change that it names, whatever the stamps say", () => {
  const visit = made(
    "visit",
    { cautions: {}, identity: {}, condition: {}, standard: {}, surroundings: {}, adjusted: { done: false } },
    "v",
  );
  write(visit, "returned.a", { remark: "again", of: ["the signature"] });
  write(visit, "signature", { name: "A", at: "" });
  const head = visit.fields["signature"]?.heads[0];
  if (!head) throw new Error("no signature");
  assert.deepEqual(returnedSince(visit), []);
  head.change = "the signature";
  assert.deepEqual(returnedSince(visit), ["again"]);
  head.change = "another";
  write(visit, "approval", {});
  const approval = visit.fields["approval"]?.heads[0];
  if (!approval) throw new Error("no approval");
  approval.change = "the approval";
  write(visit, "reopened.b", { reason: "wrong", of: ["an earlier one"], signed: [] });
  assert.ok(isApproved(visit));
  write(visit, "reopened.c", { reason: "wrong", of: ["the approval"], signed: ["another"] });
  assert.ok(!isApproved(visit));
  assert.deepEqual(returnedSince(visit), ["wrong"]);
});

test("a visit belongs to its person and to those named as helping", () => {
  const visit = made("visit", { person: "a", "with.b": { at: "" }, "with.c": null }, "v");
  assert.deepEqual(
    ["a", "b", "c", "d"].map((p) => helping(visit, p)),
    [true, true, false, false],
  );
  assert.ok(helping(made("visit", {}, "w"), "d"));
});

const leakPhase = [
  { id: "p1.set", do: "set", screen: 1, target: "400", unit: "kPa" },
  { id: "p1.fill", do: "hold", screen: 1, seconds: 30 },
  { id: "p1.close", do: "note", screen: 1, text: "Shut the source off." },
  { id: "p1.hold", do: "hold", screen: 1, seconds: 180 },
  { id: "p1", do: "read", screen: 2, many: true, of: "indicated" },
];

test("every wait of a screen has its turn, in the order of the plan", () => {
  const [screen = [], reading = []] = screensOf(stepsOf({ steps: leakPhase }));
  const run = made("run", {});
  const next = () => nowOn(run, effective(run), screen)?.step.id;
  const hold = (id: string) => screen.find((s) => s.id === id) ?? assert.fail(id);
  assert.equal(next(), "p1.set");
  write(run, "done.p1.set", { at: "2026-01-01T08:00:00.000Z" });
  assert.equal(next(), "p1.fill");
  assert.equal(holdFrom(run, screen, hold("p1.fill")), Date.parse("2026-01-01T08:00:00.000Z"));
  write(run, "done.p1.fill", { at: "2026-01-01T08:00:30.000Z" });
  assert.equal(next(), "p1.close");
  assert.equal(holdFrom(run, screen, hold("p1.hold")), undefined, "the source is not shut yet");
  write(run, "done.p1.close", { at: "2026-01-01T08:01:00.000Z" });
  assert.equal(next(), "p1.hold");
  assert.equal(holdFrom(run, screen, hold("p1.hold")), Date.parse("2026-01-01T08:01:00.000Z"));
  assert.equal(screenDone(run, [], screen), false);
  write(run, "done.p1.hold", { at: "2026-01-01T08:04:00.000Z" });
  assert.equal(next(), undefined);
  assert.equal(screenDone(run, [], screen), true);
  assert.equal(nowOn(run, [], reading)?.step.id, "p1");
});

test("a wait on a screen of its own begins when the step before it was done", () => {
  const [first = [], second = []] = screensOf(
    stepsOf({ steps: [leakPhase[0], { ...leakPhase[1], screen: 2 }] as Json }),
  );
  const run = made("run", { "done.p1.set": { at: "2026-01-01T08:00:00.000Z" } });
  assert.equal(
    holdFrom(run, second, second[0] ?? assert.fail("no wait"), first),
    Date.parse("2026-01-01T08:00:00.000Z"),
  );
});

test("a sheet carries the effective captures as typed", () => {
  const visit = made("visit", {
    method: { definition: { kind: "gauge" } },
    item: {
      range: { low: "0", high: "10", unit: "bar", mode: "gauge" },
      resolution: "0.05",
      limit: { rule: "en837", class: "1" },
    },
    standard: { range: { low: "0", high: "20", unit: "bar", mode: "gauge", of_span_percent: "0.05", k: "2" } },
  });
  const sheet = sheetOf(visit, [{ step: "r0", of: "indicated", value: "2.50", unit: "bar" }], false);
  assert.deepEqual(sheet, {
    method: { kind: "gauge" },
    instrument: {
      low: "0",
      high: "10",
      unit: "bar",
      mode: "gauge",
      resolution: "0.05",
      limit: { rule: "en837", class: "1" },
    },
    standard: { ranges: [{ low: "0", high: "20", of_span_percent: "0.05", k: "2" }] },
    captures: [{ step: "r0", of: "indicated", value: "2.50", unit: "bar" }],
    complete: false,
  });
});

test("what was found before the first pressure stops a visit, until it is put right or ended", () => {
  const visit = made("visit", { method: { definition: {} } }, "v");
  const runs: RecordState[] = [];
  const stage = () => stageOf(visit, runs);
  write(visit, "cautions", { codes: ["lock_out", "vent"], met: false, open: ["lock_out"], at: "" });
  assert.deepEqual(stage(), { kind: "halt", why: "cautions" });
  assert.deepEqual(sheetOf(visit, [], false)["before"], { safe: "no" });
  write(visit, "cautions", { codes: ["lock_out", "vent"], met: true, at: "", put_right: "isolated" });
  assert.equal(stage().kind, "identity");
  assert.equal(sheetOf(visit, [], false)["before"], undefined);
  write(visit, "identity", { ok: false, note: "Q111", way: "wrong" });
  assert.deepEqual(stage(), { kind: "halt", why: "identity" });
  write(visit, "identity", { ok: false, note: "Q111", way: "register" });
  write(visit, "condition", { ok: false, state: "dirty", note: "oil" });
  assert.equal(stage().kind, "standard");
  for (const way of ["exchanged", "wrong"]) {
    write(visit, "identity", { ok: false, note: "Q111", way });
    assert.deepEqual(stage(), { kind: "halt", why: "identity" }, way);
    assert.deepEqual(sheetOf(visit, [], false)["before"], { identity: way });
  }
  write(visit, "identity", { ok: true, note: "", put_right: "at the right one now" });
  write(visit, "condition", { ok: false, state: "damaged", note: "glass broken" });
  assert.deepEqual(stage(), { kind: "halt", why: "damaged" });
  runs.push(made("run", { label: "as found" }, "open"));
  assert.deepEqual(stage(), { kind: "halt", why: "damaged" }, "nor does a run that is open already go on");
  write(runs[0] as RecordState, "closed", { at: "", stopped: "glass broken" });
  write(visit, "not_tested", { why: "damaged", reason: "glass broken", at: "" });
  assert.equal(stage().kind, "finish");
  write(visit, "signature", { name: "A", at: "", covers: [] });
  assert.equal(stage().kind, "done");
  write(visit, "returned.x", { remark: "is it?" });
  assert.equal(stage().kind, "finish");
  write(visit, "not_tested", {});
  assert.deepEqual(stage(), { kind: "halt", why: "damaged" }, "what was found stays found");
});

test("a safety question stops a run until it is answered with yes", () => {
  const steps = stepsOf({
    steps: [
      { id: "ready", do: "ask", as: "yes", screen: 1, safety: true, make_safe: "Vent." },
      { id: "sure", do: "ask", as: "yes", screen: 1 },
      { id: "p1.set", do: "set", screen: 2 },
    ],
  });
  const run = made("run", {}, "r");
  const unsafe = () => unsafeIn(steps, effective(run))?.step.id;
  assert.equal(unsafe(), undefined, "it was not asked yet");
  write(run, "capture.a", { step: "sure", of: "answer", value: "no" });
  assert.equal(unsafe(), undefined, "a question that is not of safety");
  write(run, "capture.b", { step: "ready", of: "answer", value: "no" });
  assert.equal(unsafe(), "ready");
  write(run, "capture.c", { step: "ready", of: "answer", value: "yes", supersedes: "b", reason: "valve closed" });
  assert.equal(unsafe(), undefined);
  write(run, "capture.d", { step: "ready", of: "answer", value: "no", supersedes: "c", reason: "mistyped" });
  assert.equal(unsafe(), "ready");
});

test("a value beyond what is possible is refused with its bounds and their unit", () => {
  const read = readHead({ standard_above_m: "2000", fluid: "water" });
  assert.match("error" in read ? read.error : "", /must be from \u22121000 to 1000\u00a0m\.$/);
});

test("surroundings take a comma or a point and name the field that does not fit", () => {
  assert.deepEqual(readConditions({ temperature_c: "21,5", pressure_hpa: " 1013.2 " }), {
    values: { temperature_c: "21.5", pressure_hpa: "1013.2" },
  });
  for (const [typed, field] of [
    [{}, "temperature_c"],
    [{ temperature_c: "warm" }, "temperature_c"],
    [{ temperature_c: "21", pressure_hpa: "high" }, "pressure_hpa"],
    [{ temperature_c: "21", humidity_percent: "4 5" }, "humidity_percent"],
  ] as [{ [f: string]: string }, string][]) {
    const read = readConditions(typed);
    assert.equal("field" in read ? read.field : "", field);
  }
});

test("the pad writes what its keys say", () => {
  const typed = (...keys: PadKey[]) => keys.reduce(press, "");
  assert.equal(typed("2", "mark", "5", "0"), "2.50");
  assert.equal(typed("mark", "5"), "0.5");
  assert.equal(typed("0", "7"), "7");
  assert.equal(typed("5", "mark", "mark", "1"), "5.1");
  assert.equal(typed("sign", "3"), "-3");
  assert.equal(typed("3", "sign", "sign"), "3");
  assert.equal(typed("sign", "3", "back"), "");
  assert.equal(tidy("\u22122,5 bar", "bar"), "-2.5", "either mark, and the unit behind it");
  assert.equal(readDecimal(tidy("2,5")), "2.5");
  for (const no of ["1e9", "1.2.3", "12a", "1,013.2", "2,5 psi", ""])
    assert.equal(readDecimal(tidy(no, "bar")), undefined, `${no} is not made into a number`);
});

test("any key presses give a text that is a number or the beginning of one", () => {
  const keys: PadKey[] = ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "mark", "sign", "back"];
  fc.assert(
    fc.property(fc.array(fc.constantFrom(...keys)), (pressed) =>
      assert.match(pressed.reduce(press, ""), /^-?(\d+(\.\d*)?)?$/),
    ),
  );
});

test("a step of the pad is exact in decimals", () => {
  assert.equal(step("0.1", "0.2", 1, "0"), "0.3");
  assert.equal(step("2.5", "0.05", -1, "0"), "2.45");
  assert.equal(step("0.05", "0.1", -1, "0"), "-0.05");
  assert.equal(step("", "0.05", 1, "2.5"), "2.55");
  assert.equal(step("10", "5", -1, "0"), "5");
  assert.equal(step("1", "", 1, "0"), "1");
  const cents = (n: number) => {
    const s = String(Math.abs(n)).padStart(3, "0");
    return `${n < 0 ? "-" : ""}${s.slice(0, -2)}.${s.slice(-2)}`;
  };
  fc.assert(
    fc.property(fc.integer({ min: -99999, max: 99999 }), fc.integer({ min: 1, max: 500 }), (a, by) =>
      assert.equal(step(cents(a), cents(by), 1, "0"), cents(a + by)),
    ),
  );
});

test("a photo is made to fit, never enlarged", () => {
  assert.deepEqual(fitted(8000, 6000), { width: 1600, height: 1200 });
  assert.deepEqual(fitted(3000, 4000), { width: 1200, height: 1600 });
  assert.deepEqual(fitted(640, 480), { width: 640, height: 480 });
  assert.deepEqual(fitted(100_000, 10), { width: 1600, height: 1 });
});

test("the column between standard and instrument is left out on one level, and asks for what cannot be known", () => {
  const nothing = { values: {} };
  assert.deepEqual(readHead({}), nothing);
  assert.deepEqual(
    readHead({ standard_above_m: "0,0", fluid: "water" }),
    nothing,
    "on one level nothing of it matters",
  );
  assert.deepEqual(readHead({ standard_above_m: "-0,35", fluid: "water" }), {
    values: { standard_above_m: "-0.35", fluid: "water" },
  });
  assert.equal((readHead({ standard_above_m: "0.35" }) as { field: string }).field, "fluid");
  assert.equal((readHead({ standard_above_m: "high", fluid: "water" }) as { field: string }).field, "standard_above_m");
  assert.equal(
    (readHead({ standard_above_m: "0.35", fluid: "oil" }) as { field: string }).field,
    "fluid_density_kg_m3",
  );
  assert.deepEqual(readHead({ standard_above_m: "0.35", fluid: "oil", fluid_density_kg_m3: "870" }), {
    values: { standard_above_m: "0.35", fluid: "oil", fluid_density_kg_m3: "870" },
  });
  assert.deepEqual(readHead({ standard_above_m: "0.35", fluid: "air", fluid_density_kg_m3: "870" }), {
    values: { standard_above_m: "0.35", fluid: "air" },
  });
});

test("what was typed for one record is forgotten, and nothing else", () => {
  const kept = {
    "draft v1 remark": "a",
    "draft v1 s1 indicated  value": "b",
    "draft v12 remark": "c",
    theme: "day",
  } as { [key: string]: string };
  const methods = { removeItem: (key: string) => delete kept[key] };
  const before = Object.getOwnPropertyDescriptor(globalThis, "localStorage");
  Object.defineProperty(globalThis, "localStorage", {
    configurable: true,
    value: Object.setPrototypeOf(kept, methods),
  });
  try {
    forgetDrafts("v1");
  } finally {
    if (before) Object.defineProperty(globalThis, "localStorage", before);
    else Reflect.deleteProperty(globalThis, "localStorage");
  }
  assert.deepEqual(Object.keys(kept), ["draft v12 remark", "theme"]);
});
