import assert from "node:assert/strict";
import { test } from "node:test";
import { matches, showLimit, showRange } from "../src/screens/instrument/facts";
import { localDay, stopsOf } from "../src/screens/round/stops";
import type { Json, RecordState } from "../src/wire/records";

function made(id: string, kind: string, fields: { [name: string]: Json }): RecordState {
  const state: RecordState = { id, kind, site: "", parent: "", fields: {} };
  for (const [name, value] of Object.entries(fields))
    state.fields[name] = { heads: [{ change: "c", value, author: "", device: "", wall: "", stamp: "" }], replaced: [] };
  return state;
}

test("a stop is to do, begun or done by the visits of its own round only", () => {
  const round = made("r", "round", { stops: [{ instrument: "a" }, { instrument: "b" }, { instrument: "c" }] });
  const visits = [
    made("v1", "visit", { instrument: "a", round: "r", started: "2026-01-01", signature: { name: "x" } }),
    made("v2", "visit", { instrument: "b", round: "r", started: "2026-01-01" }),
    made("v3", "visit", { instrument: "c", round: "other", started: "2026-01-01", signature: { name: "x" } }),
  ];
  assert.deepEqual(
    stopsOf(round, visits).map((s) => [s.state, s.visit]),
    [
      ["done", "v1"],
      ["going", "v2"],
      ["open", undefined],
    ],
  );
});

test("a repeat visit opens a stop again", () => {
  const round = made("r", "round", { stops: [{ instrument: "a" }] });
  const visits = [
    made("v1", "visit", { instrument: "a", round: "r", started: "2026-01-01T08:00:00.000Z", signature: { name: "x" } }),
    made("v2", "visit", { instrument: "a", round: "r", started: "2026-01-01T09:00:00.000Z" }),
  ];
  assert.equal(stopsOf(round, visits)[0]?.state, "going");
});

test("the day is the one where the device is", () => {
  assert.equal(localDay(new Date(2026, 0, 5, 23, 59)), "2026-01-05");
});

test("a search finds an instrument by any of its texts, all words needed", () => {
  const i = made("i", "instrument", { tag: "PI-101", serial: "A88", description: "Boiler drum", aliases: ["old 7"], place: "roof" });
  for (const [search, want] of [
    ["pi-1", true],
    ["drum roof", true],
    ["OLD 7", true],
    ["drum cellar", false],
  ] as [string, boolean][])
    assert.equal(matches(i, search), want, search);
});

test("range and limit are written with what is known of them", () => {
  assert.equal(showRange({ low: "-1", high: "2.50", unit: "bar", mode: "gauge" }), "\u22121 … 2.50 bar gauge");
  assert.equal(showRange(null), "");
  assert.equal(showLimit({ rule: "en837", class: "1.6" }, "bar"), "EN 837, class 1.6");
  assert.equal(showLimit({ rule: "terms", of_span_percent: "0.5", absolute: "0.02" }, "bar"), "± 0.5 % of span, ± 0.02 bar");
});
