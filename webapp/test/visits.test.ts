import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { effective, reported } from "../src/records/rules";
import { inOrder, isApproved, returnedSince, stageOf } from "../src/records/run";
import { sheetOf } from "../src/records/sheet";
import type { RecordState } from "../src/wire/records";
import { ruled } from "./module";

type Case = { about: string; visit: RecordState; runs: RecordState[] | null; want: { [part: string]: unknown } };

/**
 * asked gives what the browser's own functions make of the module's reply, in the form of the cases.
 */
function asked(visit: RecordState, runs: RecordState[]): { [part: string]: unknown } {
  const rules = ruled(visit, runs);
  const stage = stageOf(visit, runs);
  const { found, left } = reported(visit, runs);
  const { captures, complete, ...sheet } = sheetOf(visit, [], false);
  assert.deepEqual([captures, complete, isApproved(visit)], [[], false, rules.status === "approved"]);
  return {
    status: rules.status,
    sent_back: returnedSince(visit),
    stage: { ...stage, ...("run" in stage ? { run: stage.run.id } : {}) },
    reported: { ...(found ? { as_found: found.id } : {}), ...(left ? { as_left: left.id } : {}) },
    runs: inOrder(visit, runs).map((r) => r.id),
    effective: Object.fromEntries(
      runs.map((r) => [r.id, effective(r).map((e) => [e.id, ...e.earlier.map((x) => x.id)])]),
    ),
    summary: rules.summary,
    covers: rules.covers,
    sheet,
  };
}

// The tests of calc/visit and of server/plant read the same cases.
for (const file of ["cases", "demo"]) {
  const cases: Case[] = JSON.parse(readFileSync(`testdata/visits/${file}.json`, "utf8"));
  assert.ok(cases.length > 3, file);
  for (const c of cases)
    test(`${file}: ${c.about}`, () => {
      const got = asked(c.visit, c.runs ?? []);
      assert.ok(Object.keys(c.want).length > 0);
      for (const [part, want] of Object.entries(c.want)) assert.deepEqual(got[part], want, part);
    });
}
