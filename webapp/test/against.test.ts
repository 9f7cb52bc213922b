import assert from "node:assert/strict";
import { test } from "node:test";
import { askedOf } from "../src/records/against";
import { calculate } from "./module";

test("a gauge-pressure standard's reading beside a barometer is judged without the air pressure", () => {
  const sheet = {
    method: { kind: "gauge", points: { values: ["1", "2"] }, directions: "up", way: "pointer-set" },
    instrument: {
      low: "0",
      high: "4",
      unit: "bar",
      mode: "absolute",
      limit: { rule: "terms", absolute: "0.02" },
    },
    surroundings: { pressure_hpa: "1000" },
  };
  const entry = { step: "s1.up.0", of: "applied", value: "0.001", unit: "bar" };
  const found = (doc: typeof sheet) => calculate("entry", askedOf(doc, [], entry)).findings.length;
  assert.equal(found(sheet), 1, "without a barometer 0 bar at 1 bar is asked about");
  assert.equal(found({ ...sheet, barometer: { ranges: [] } } as typeof sheet), 0);
});
