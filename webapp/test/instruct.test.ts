import assert from "node:assert/strict";
import { test } from "node:test";
import { stepsOf } from "../src/records/run";
import { nameOf, tell } from "../src/views/instruct";
import type { Json } from "../src/wire/records";

test("a step with its own words keeps its figures", () => {
  const told = (s: { [n: string]: Json }) => {
    const { main, words, bounds } = tell(
      stepsOf({ steps: [{ id: "a", screen: 1, ...s }] })[0] ?? assert.fail("no step"),
      "10 bar",
    );
    return [main, words, ...bounds].filter(Boolean).join(" | ").replaceAll("\u00a0", " ");
  };
  assert.equal(
    told({
      do: "set",
      text: "In steps.",
      move: "raise",
      target: "400",
      unit: "kPa",
      mode: "gauge",
      rate: "5",
      limit: "0.02",
      limit_unit: "Pa\u00b7m\u00b3/s",
      limit_per_min: "0.3",
    }),
    "Raise to 400 kPa gauge, 5 kPa/s | In steps. | Leak allowed: 0.02 Pa\u00b7m\u00b3/s, here 0.3 kPa/min",
  );
  const raised = { do: "set", move: "raise", target: "10", unit: "bar", mode: "gauge", most: "13" };
  assert.equal(told(raised), "Raise to 10 bar gauge | Do not exceed 13 bar");
  assert.equal(
    told({ ...raised, most_is: "overload" }),
    "Raise to 10 bar gauge | Do not exceed 13 bar (overload limit)",
  );
  const ramp = {
    do: "ramp",
    text: "Slowly, until trip acts.",
    move: "lower",
    from: "2.2",
    target: "1.2",
    unit: "bar",
    mode: "gauge",
    rate: "0.02",
    until: "contact",
  };
  assert.equal(
    told({ ...ramp, low: "1.44", high: "1.56", cycle: 2, cycles: 3, cycle_of: "cycle" }),
    "Lower from 2.2 bar to 1.2 bar gauge, 0.02 bar/s | Slowly, until trip acts. | Must change within 1.44 \u2026 1.56 bar | Cycle 2 of 3",
  );
  assert.equal(
    told({
      ...ramp,
      do: "read",
      of: "applied",
      target: "",
      text: "Pressure at its reset point",
      band_low: "0.1",
      band_high: "0.5",
    }),
    "Pressure at its reset point | Dead band 0.1 \u2026 0.5 bar",
    "where the reset is typed, its window is there too",
  );
  assert.match(
    told({ ...ramp, do: "hold", seconds: 30, text: "The system fills.", expected: "400", unit: "kPa" }),
    /Test pressure 400 kPa/,
  );
  assert.equal(
    told({ ...ramp, text: "", band_low: "0.1", band_high: "0.5" }),
    "Lower from 2.2 bar to 1.2 bar gauge, 0.02 bar/s | Until the contact changes. | Dead band 0.1 \u2026 0.5 bar",
  );
  assert.equal(told({ do: "set", move: "stay", direction: "down", target: "10", unit: "bar" }), "Stay at 10 bar");
  assert.equal(
    told({ do: "set", move: "raise", direction: "up", target: "5", unit: "bar", rate: "0.2" }),
    "Raise to 5 bar, 0.2 bar/s | Do not overshoot.",
  );
  assert.equal(
    told({ do: "set", direction: "down", target: "5", unit: "bar" }),
    "Lower to 5 bar | Do not undershoot.",
    "a plan of before",
  );
  assert.equal(
    told({ do: "set", move: "raise", target: "10000", unit: "ft", rate: "50", rate_per_min: "3000" })
      .split(",")
      .at(-1)
      ?.includes("000 ft/min"),
    true,
  );
  assert.equal(
    told({ do: "read", of: "indicated", target: "0.32", unit: "bar", low: "0.304", high: "0.336" }),
    "Read 0.32 bar | May show 0.304 \u2026 0.336 bar",
  );
  assert.equal(
    told({ do: "set", move: "raise", mode: "absolute", target: "1.8", unit: "bar", at_standard: "0.791" }),
    "Raise to 1.8 bar absolute | The standard shows 0.791 bar gauge",
  );
  assert.equal(
    told({ do: "read", of: "indicated", unit: "mA", expected: "8.0000", low: "7.96", high: "8.04" }),
    "Read 8.0000 mA | Should show 8.0000 mA | May show 7.96 \u2026 8.04 mA",
  );
  assert.equal(
    told({ do: "read", of: "applied", text: "K1: pressure", unit: "bar", low: "1", high: "2" }),
    "K1: pressure | Allowed 1 \u2026 2 bar",
  );
});

test("a value that was kept has its name", () => {
  const name = (s: { [n: string]: Json }) =>
    nameOf(stepsOf({ steps: [{ id: "a", screen: 1, do: "read", ...s }] })[0] ?? assert.fail("no step")).replaceAll(
      "\u00a0",
      " ",
    );
  assert.equal(name({ title: "Set point", cycle: 2, cycles: 3, cycle_of: "cycle", unit: "bar" }), "Set point, cycle 2");
  assert.equal(name({ title: "Safe to begin", do: "ask", text: "Is every part rated?" }), "Safe to begin");
  assert.equal(name({ target: "0.32", unit: "bar", series: 1, direction: "down" }), "0.32 bar \u2193");
  assert.equal(name({ text: "g, at the instrument", name: "g" }), "g");
});
