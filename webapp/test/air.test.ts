import assert from "node:assert/strict";
import { test } from "node:test";
import { airPoints, clock, learnPascals, moveOf, pressure, wayFor } from "../src/views/kinds/air-data";
import type { Json, RecordState } from "../src/wire/records";
import { calculate, known } from "./module";

let count = 0;
function made(fields: { [name: string]: Json }): RecordState {
  const state: RecordState = { id: "r", kind: "run", site: "", parent: "v", fields: {} };
  for (const [name, value] of Object.entries(fields))
    state.fields[name] = {
      heads: [
        { change: `c${count}`, value, author: "u", device: "d", wall: "", stamp: String(count++).padStart(12, "0") },
      ],
      replaced: [],
    };
  return state;
}

const set = (
  id: string,
  screen: number,
  feet: number,
  knots: number,
  pa: number,
  impact: number,
  unit = "ft",
  rate = "50",
) => ({
  id,
  do: "set",
  screen,
  unit,
  rate,
  altitude_ft: feet,
  cas_kt: knots,
  static_pa: pa,
  impact_pa: impact,
});
const plan: Json = {
  steps: [
    { id: "field", do: "ask", as: "number", screen: 1, unit: "hPa" },
    set("at.set", 2, 5000, 0, 84307, 0),
    set("speed.set", 3, 5000, 150, 84307, 3694, "kt", "1"),
    { id: "speed", do: "read", screen: 3, unit: "kt", of: "indicated" },
    set("end.set", 4, 420, 0, 99797, 0),
  ],
};

test("the input about a run: its plan, what is done, the latest field pressure, the limits of the lines", () => {
  const particulars = { highest_ft: 20000, max_rate_kt_min: 40 };
  const visit = made({
    item: { particulars },
    method: { definition: { kind: "airspeed", max_rate_kt_min: "30" } },
  });
  const capture = { step: "field", of: "answer", value: "991.5", unit: "", at: "" };
  const at = { at: "2026-01-01T00:00:00Z" };
  const run = known(made({ plan, "capture.a": capture, "done.at.set": at }));
  const doc = wayFor(visit, run, 2);
  assert.deepEqual(
    { ...doc, steps: doc.steps.length },
    { steps: 5, done: ["at.set"], at: 2, field_hpa: "991.5", particulars, max_rate_kt_min: "30" },
  );
  const said = calculate("way", doc);
  assert.deepEqual([said.reached?.altitude_ft, said.heading?.cas_kt, said.home?.static_pa], [5000, 150, 99150]);
  assert.equal(wayFor(visit, known(made({ plan })), 1).field_hpa, undefined, "not measured yet");
});

test("a profile is read from the calculation's reply, and shown in any unit", () => {
  const p = moveOf({
    points: [
      {
        t_s: 0,
        altitude_ft: 1,
        cas_kt: 2,
        static_pa: 3,
        total_pa: 5,
        impact_pa: 0,
        impact_rate_pa_s: 0,
        static_rate_pa_s: -1,
      },
    ],
    duration_s: 75,
    route: "straight",
    violations: [{ code: "max_cas_kt", from_s: 0, until_s: 1, limit: 1, worst: 2 }],
  });
  if (!p || typeof p === "string") throw new Error("no move");
  assert.equal(moveOf({ refused: "no" }), "no");
  assert.deepEqual(p.points[0], { t: 0, feet: 1, knots: 2, static: 3, total: 5, staticRate: -1 });
  assert.deepEqual(p.beyond, ["max_cas_kt"]);
  assert.equal(clock(p.seconds), "1:15");
  const { units = [] } = calculate("units", { list: true });
  learnPascals(new Map(units.map((u) => [u.unit, u.factor])));
  // 29.921 inHg of sea level: 101325 / 3386.388640341 (ISO 2533)
  assert.deepEqual(
    [pressure(101325, "Pa"), pressure(101325, "hPa"), pressure(101325, "inHg")],
    ["101325.0\u00a0Pa", "1013.25\u00a0hPa", "29.9213\u00a0inHg"],
  );
});

test("points are drawn over altitude, airspeed or the held rate", () => {
  const one = (unit: string) => ({
    test: "scale",
    step: "s",
    direction: "down",
    unit,
    altitude_ft: 4000,
    cas_kt: 90,
    indicated: 520,
    error: 20,
    limit_high: 30,
    verdict: "pass",
  });
  const points = airPoints({ altimeter: { points: [one("ft"), one("kt"), one("ft/min")] } }, "altimeter");
  assert.deepEqual(
    points.map((p) => p.x),
    [4000, 90, 500],
  );
  assert.deepEqual(airPoints({}, "altimeter"), []);
});
