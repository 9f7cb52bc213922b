import assert from "node:assert/strict";
import { test } from "node:test";
import { showLimit, showRange } from "../src/screens/instrument/facts";
import { localDay, stopsOf } from "../src/screens/round/stops";
import { entryOf, keysOf, matches, orderOf } from "../src/store/shelf";
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

test("a visit that came back from the office is to be done again, until it is signed anew", () => {
  const stamped = (signature: string, returned: string, name = "returned.x") => {
    const v = made("v", "visit", { instrument: "a", round: "r", person: "p", signature: { name: "x" }, approval: {}, [name]: { remark: "look again" } });
    for (const [field, stamp] of [
      ["signature", signature],
      [name, returned],
    ] as const) {
      const head = v.fields[field]?.heads[0];
      if (head) head.stamp = stamp;
    }
    return v;
  };
  const round = made("r", "round", { stops: [{ instrument: "a" }] });
  for (const [visit, back] of [
    [stamped("2", "3"), true],
    [stamped("2", "3", "reopened.x"), true],
    [stamped("4", "3"), false],
    [stamped("4", "3", "reopened.x"), false],
  ] as const) {
    assert.equal(stopsOf(round, [visit])[0]?.state, back ? "going" : "done");
    assert.equal(keysOf(visit).includes("o/p"), back);
  }
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
    assert.equal(matches(entryOf(i), search), want, search);
});

test("tags stand in the order in which people count", () => {
  const tags = ["PI-10", "pi-9", "PI-101", "A 2", "PI-9B", "ÄB 1", "TI-1"];
  const sorted = [...tags].sort((a, b) => (orderOf(a) < orderOf(b) ? -1 : 1));
  assert.deepEqual(sorted, ["A 2", "ÄB 1", "pi-9", "PI-9B", "PI-10", "PI-101", "TI-1"]);
});

test("a record is filed under what it is looked up by", () => {
  const fields = { instrument: "i", round: "r", person: "p" };
  assert.deepEqual(keysOf(made("v", "visit", fields)), ["v/i", "r/r", "o/p"]);
  assert.deepEqual(keysOf(made("v", "visit", { ...fields, signature: { name: "x" } })), ["v/i", "r/r"]);
  assert.deepEqual(keysOf(made("v", "visit", { ...fields, approval: {} })), ["v/i", "r/r"]);
  assert.deepEqual(keysOf(made("i", "instrument", { label: "AB3K", method: "m" })), ["t/ab3k", "m/m"]);
  assert.deepEqual(keysOf(made("r", "round", { date: "2026-03-04T05:00:00Z" })), ["d/2026-03-04"]);
  assert.deepEqual(keysOf(made("s", "site", { code: "S" })), []);
});

test("range and limit are written with what is known of them", () => {
  assert.equal(showRange({ low: "-1", high: "2.50", unit: "bar", mode: "gauge" }), "\u22121 … 2.50 bar gauge");
  assert.equal(showRange(null), "");
  assert.equal(showLimit({ rule: "en837", class: "1.6" }, "bar"), "EN 837, class 1.6");
  assert.equal(showLimit({ rule: "terms", of_span_percent: "0.5", absolute: "0.02" }, "bar"), "± 0.5 % of span, ± 0.02 bar");
});
