import assert from "node:assert/strict";
import { test } from "node:test";
import { airPoints, boundsOf, clock, fieldOf, intervalFor, moveDoc, pressure, profileOf, whereIs } from "../src/screens/visit/kinds/air-data";
import type { Json, RecordState } from "../src/wire/records";

let count = 0;
function made(fields: { [name: string]: Json }): RecordState {
  const state: RecordState = { id: "r", kind: "run", site: "", parent: "v", fields: {} };
  for (const [name, value] of Object.entries(fields))
    state.fields[name] = {
      heads: [{ change: `c${count}`, value, author: "u", device: "d", wall: "", stamp: String(count++).padStart(12, "0") }],
      replaced: [],
    };
  return state;
}

const set = (id: string, screen: number, feet: number, knots: number, pa: number, impact: number, unit = "ft", rate = "50") => ({
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

test("where a run stands: the last condition that was ticked, the one on this screen, the field as measured", () => {
  const at = { at: "2026-01-01T00:00:00Z" };
  const before = whereIs(made({ plan }), 1);
  assert.equal(before?.reached.static, 99797, "the planned field until it is measured");
  assert.equal(before?.heading?.feet, 5000);
  const capture = { step: "field", of: "answer", value: "991.5", unit: "", at: "" };
  const run = made({ plan, "capture.a": capture, "done.at.set": at });
  assert.equal(fieldOf(run), 99150);
  const on = whereIs(run, 2);
  assert.deepEqual([on?.reached.feet, on?.reached.knots, on?.heading?.knots, on?.way], [5000, 0, 150, "on"]);
  assert.equal(on?.home.static, 99150);
  const back = whereIs(made({ plan, "capture.a": capture, "done.at.set": at, "done.speed.set": at }), 4);
  assert.deepEqual([back?.reached.impact, back?.way, back?.heading?.static], [3694, "home", 99150]);
  assert.equal(whereIs(made({ plan, "capture.a": capture, "done.at.set": at, "done.speed.set": at }), 3)?.heading, undefined, "nothing to set on the way");
  assert.equal(fieldOf(made({ plan, "capture.a": { ...capture, value: "29.4" } })), undefined, "no field has this pressure");
  assert.equal(whereIs(made({ plan: { steps: [] } }), 0), undefined);
});

test("a move asks for what the lines bear, and home means the measured pressure", () => {
  const visit = made({
    item: { particulars: { highest_ft: 20000, lowest_ft: -1000, max_cas_kt: 260, max_rate_kt_min: 40 } },
    method: { definition: { kind: "airspeed" } },
  });
  const run = made({ plan });
  const b = boundsOf(visit, run, 1);
  assert.deepEqual([b.climb, b.knotRate, b.highest, b.knots], [3000, 40, 20000, 260]);
  const from = { feet: 5000, knots: 150, static: 84307, impact: 3694 };
  const home = moveDoc(from, { field: 99150, feet: 600 }, b);
  assert.equal(home["field_pa"], 99150);
  assert.equal(home["to"], undefined);
  assert.deepEqual(home["from"], { static_pa: 84307, cas_kt: 150 });
  assert.deepEqual(home["limits"], { max_altitude_ft: 20000, min_altitude_ft: -1000, max_cas_kt: 260 });
  assert.equal(intervalFor(from, { ...from, feet: 20000 }, b), 30, "300 s in ten points");
});

test("a profile is read as the room gives it, and shown in any unit", () => {
  const p = profileOf({
    points: [{ t_s: 0, altitude_ft: 1, cas_kt: 2, static_pa: 3, total_pa: 5, static_rate_pa_s: -1 }],
    duration_s: 75,
    route: "straight",
    violations: [{ code: "max_cas_kt" }],
  });
  assert.deepEqual(p.points[0], { t: 0, feet: 1, knots: 2, static: 3, total: 5, staticRate: -1 });
  assert.deepEqual(p.beyond, ["max_cas_kt"]);
  assert.equal(clock(p.seconds), "1:15");
  // 29.921 inHg of sea level: 101325 / 3386.388640341 (ISO 2533)
  assert.deepEqual([pressure(101325, "Pa"), pressure(101325, "hPa"), pressure(101325, "inHg")], ["101325.0\u00a0Pa", "1013.25\u00a0hPa", "29.9213\u00a0inHg"]);
});

test("points are drawn over altitude, airspeed or the rate that stood", () => {
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
