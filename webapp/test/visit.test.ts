import assert from "node:assert/strict";
import { test } from "node:test";
import fc from "fast-check";
import { type PadKey, press, step, tidy } from "../src/parts/number-pad-state";
import { fitted } from "../src/screens/visit/photo";
import {
  asksOf,
  coveredBy,
  doubtful,
  effective,
  entryFor,
  holdFrom,
  isApproved,
  resumeAt,
  returnedSince,
  screensOf,
  secondsLeft,
  speaking,
  stageOf,
  stepsOf,
  summaryOf,
} from "../src/screens/visit/run";
import { papersOf } from "../src/screens/visit/amend";
import { forgetDrafts } from "../src/screens/visit/draft";
import { objectionsTo } from "../src/screens/visit/candidates";
import { sheetOf } from "../src/screens/visit/sheet";
import { readConditions, readHead } from "../src/screens/visit/surroundings";
import type { Json, RecordState } from "../src/wire/records";
import { alikeIn } from "../src/screens/visit/warnings";

let clock = 0;
/** A record whose fields were written in the order given. */
function made(kind: string, fields: { [name: string]: Json }, id = `r${clock}`): RecordState {
  const state: RecordState = { id, kind, site: "s", parent: "v", fields: {} };
  for (const [name, value] of Object.entries(fields)) write(state, name, value);
  return state;
}
function write(state: RecordState, name: string, value: Json): RecordState {
  const stamp = String(++clock).padStart(12, "0");
  state.fields[name] = { heads: [{ change: `c${clock}`, value, author: "u", device: "d", wall: "", stamp }], replaced: [] };
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

test("a run is taken up where its records end", () => {
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

test("a correction stands in for the first value, which is kept", () => {
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

test("captures that supersede each other in a ring do not hang", () => {
  const run = made("run", {});
  write(run, "capture.a", capture("r0", "1", { supersedes: "b" }));
  write(run, "capture.b", capture("r0", "2", { supersedes: "a" }));
  write(run, "capture.c", capture("r0", "3", { supersedes: "b" }));
  assert.deepEqual(
    effective(run).map((e) => e.value),
    ["3"],
  );
});

test("a tap asks for the value before it first, and that one may be left out", () => {
  const asks = (tap: boolean) => asksOf(screens[2] ?? [], tap).map((a) => [a.step.id, a.of, a.optional]);
  assert.deepEqual(asks(true), [
    ["r0", "before_tap", true],
    ["r0", "indicated", false],
  ]);
  assert.deepEqual(asks(false), [["r0", "indicated", false]]);
});

test("a wait counts by the wall from the moment the pressure was set", () => {
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

test("a value that looks mistyped is asked about, never changed", () => {
  const range = { low: 0, high: 10 };
  assert.equal(doubtful("10.02", range, 10), undefined);
  assert.equal(doubtful("25", range, 2.5), "range");
  assert.equal(doubtful("-0.05", range, 0), undefined);
  assert.equal(doubtful("-5", range, 5), "range");
  assert.equal(doubtful("0.5", range, 5), "far");
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

test("an approved visit that the office opens again is finished anew, until it is signed and approved anew", () => {
  const visit = made("visit", { cautions: {}, identity: {}, condition: {}, standard: {}, surroundings: {}, adjusted: { done: false } }, "v");
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

test("opening a visit again alters no result; a run begun since then speaks", () => {
  const visit = made("visit", {}, "v");
  const found = made("run", { label: "as found", finding: finding(true, 1), closed: at("") }, "found");
  const again = made("run", { label: "repeat", finding: finding(true, 2), closed: at("") }, "again");
  write(visit, "approval", {});
  write(visit, "reopened.x", { reason: "x" });
  assert.equal(speaking(visit, [again, found]).found?.id, "found");
  const later = made("run", { label: "repeat", finding: finding(true, 3), closed: at("") }, "later");
  assert.equal(speaking(visit, [again, later, found]).found?.id, "later");
});

test("each certificate of a visit knows the one that took its place", () => {
  const paper = (number: string, replaces?: string) => made("certificate", { number, ...(replaces ? { replaces } : {}) }, number);
  const list = papersOf([paper("2026-00002", "2026-00001"), made("run", {}, "r"), paper("2026-00003", "2026-00002"), paper("2026-00001")]);
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

test("the as-found run that was done to its end speaks, whatever was repeated after it", () => {
  const visit = made("visit", {}, "v");
  const found = made("run", { label: "as found", finding: finding(true, 1), closed: at("") }, "found");
  const again = made("run", { label: "repeat", finding: finding(true, 2), closed: at("") }, "again");
  const left = made("run", { label: "as left", finding: finding(true, 3), closed: at("") }, "left");
  assert.deepEqual([speaking(visit, [left, again, found]).found?.id, speaking(visit, [left, again, found]).left?.id], ["found", "left"]);
  write(found, "finding", finding(false, 1));
  assert.equal(speaking(visit, [found, again, left]).found?.id, "again");
  const short = summaryOf(visit, [found, again]);
  assert.deepEqual(short, { as_found: { verdict: "pass", worst_fraction: 0.4, points: [{ point: 0, direction: "up", error: 2, limit: 0.1 }] } });
});

test("a signature covers every change of the runs, replaced ones too", () => {
  const run = made("run", { label: "as found" }, "r");
  run.fields["note"] = { heads: [{ change: "z", value: "", author: "", device: "", wall: "", stamp: "" }], replaced: ["y"] };
  const covers = coveredBy([run, made("certificate", { number: "1" })]);
  assert.equal(covers.length, 3);
  assert.ok(covers.includes("z") && covers.includes("y"));
});

test("what speaks against a standard is named", () => {
  const need = { low: "0", high: "10", unit: "bar", mode: "gauge" };
  const kinds = (standard: { [n: string]: Json }, range: { [n: string]: Json }) =>
    objectionsTo(made("standard", standard), { low: "0", high: "20", unit: "bar", mode: "gauge", ...range }, need, "2026-05-01").map((o) => o.kind);
  assert.deepEqual(kinds({ due: "2026-05-01" }, {}), []);
  assert.deepEqual(kinds({ due: "2026-04-30" }, {}), ["out of date"]);
  assert.deepEqual(kinds({}, { high: "9.9" }), ["no date", "high"]);
  assert.deepEqual(kinds({ due: "2027-01-01" }, { low: "1", mode: "absolute" }), ["low", "mode"]);
  assert.deepEqual(kinds({ due: "2027-01-01" }, { unit: "psi" }), ["unit"]);
});

test("a sheet carries the effective captures as typed", () => {
  const visit = made("visit", {
    method: { definition: { kind: "gauge" } },
    item: { range: { low: "0", high: "10", unit: "bar", mode: "gauge" }, resolution: "0.05", limit: { rule: "en837", class: "1" } },
    standard: { range: { low: "0", high: "20", unit: "bar", mode: "gauge", of_span_percent: "0.05", k: "2" } },
  });
  const sheet = sheetOf(visit, [{ step: "r0", of: "indicated", value: "2.50", unit: "bar" }], false);
  assert.deepEqual(sheet, {
    method: { kind: "gauge" },
    instrument: { low: "0", high: "10", unit: "bar", mode: "gauge", resolution: "0.05", limit: { rule: "en837", class: "1" } },
    standard: { ranges: [{ low: "0", high: "20", of_span_percent: "0.05", k: "2" }] },
    captures: [{ step: "r0", of: "indicated", value: "2.50", unit: "bar" }],
    complete: false,
  });
});

test("surroundings take a comma or a point and name the field that does not fit", () => {
  assert.deepEqual(readConditions({ temperature_c: "21,5", pressure_hpa: " 1013.2 " }), { values: { temperature_c: "21.5", pressure_hpa: "1013.2" } });
  for (const [typed, field] of [
    [{}, "temperature_c"],
    [{ temperature_c: "warm" }, "temperature_c"],
    [{ temperature_c: "21", pressure_hpa: "101325" }, "pressure_hpa"],
    [{ temperature_c: "21", humidity_percent: "-1" }, "humidity_percent"],
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
  assert.equal(tidy("\u22122,5bar"), "-2.5");
  assert.equal(tidy("1.2.3"), "1.23");
});

test("any keys give text that is a number or the beginning of one", () => {
  const keys: PadKey[] = ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "mark", "sign", "back"];
  fc.assert(fc.property(fc.array(fc.constantFrom(...keys)), (pressed) => assert.match(pressed.reduce(press, ""), /^-?(\d+(\.\d*)?)?$/)));
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
  assert.deepEqual(readHead({ standard_above_m: "0,0", fluid: "water" }), nothing, "on one level nothing of it matters");
  assert.deepEqual(readHead({ standard_above_m: "-0,35", fluid: "water" }), { values: { standard_above_m: "-0.35", fluid: "water" } });
  assert.equal((readHead({ standard_above_m: "0.35" }) as { field: string }).field, "fluid");
  assert.equal((readHead({ standard_above_m: "high", fluid: "water" }) as { field: string }).field, "standard_above_m");
  assert.equal((readHead({ standard_above_m: "0.35", fluid: "oil" }) as { field: string }).field, "fluid_density_kg_m3");
  assert.deepEqual(readHead({ standard_above_m: "0.35", fluid: "oil", fluid_density_kg_m3: "870" }), {
    values: { standard_above_m: "0.35", fluid: "oil", fluid_density_kg_m3: "870" },
  });
  assert.deepEqual(readHead({ standard_above_m: "0.35", fluid: "air", fluid_density_kg_m3: "870" }), { values: { standard_above_m: "0.35", fluid: "air" } });
});

test("what was typed for one record is forgotten, and nothing else", () => {
  const kept = { "draft v1 remark": "a", "draft v1 s1 indicated  value": "b", "draft v12 remark": "c", theme: "day" } as { [key: string]: string };
  const methods = { removeItem: (key: string) => delete kept[key] };
  const before = Object.getOwnPropertyDescriptor(globalThis, "localStorage");
  Object.defineProperty(globalThis, "localStorage", { configurable: true, value: Object.setPrototypeOf(kept, methods) });
  try {
    forgetDrafts("v1");
  } finally {
    if (before) Object.defineProperty(globalThis, "localStorage", before);
    else Reflect.deleteProperty(globalThis, "localStorage");
  }
  assert.deepEqual(Object.keys(kept), ["draft v12 remark", "theme"]);
});

test("warnings that differ in their numbers alone are one, with the others behind it; whatever says something else stands by itself", () => {
  const warned = (...messages: string[]) => alikeIn({ warnings: messages.map((message) => ({ code: "x", field: "", message })) });
  const rate = (from: string, to: string, feet: string) => `from ${from} ft to ${to} ft it went at no less than ${feet} ft/min`;
  const rates = [rate("−1,000", "0", "6012"), rate("0", "500", "7100.5"), rate("500", "1,000", "6000")];
  assert.deepEqual(warned(rates[0] ?? "", "a line was left open", rates[1] ?? "", rates[2] ?? ""), [rates, ["a line was left open"]]);
  assert.deepEqual(warned("high was not read", "low was not read"), [["high was not read"], ["low was not read"]]);
  assert.deepEqual(warned("the same", "the same"), [["the same", "the same"]]);
  assert.deepEqual(alikeIn({}), []);
});
