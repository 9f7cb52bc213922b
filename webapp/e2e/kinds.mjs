// Instruments and methods for the browser tests, one of each kind of work. Each call gives a new
// one, as { range, particulars?, limit?, definition }.
import assert from "node:assert/strict";

export const bar = { low: "0", high: "10", unit: "bar", mode: "gauge" };
export const feet = { low: "-1000", high: "20000", unit: "ft", mode: "absolute" };
export const percent = { rule: "terms", of_span_percent: 1 };

/** The limits of an aircraft's instruments; the weakest part by its name. */
export const bears = (part = "the airspeed indicator", more = {}) => ({
  max_rate_ft_min: 6000,
  field_pa: 100230,
  weakest: { impact_pa: 12000, part },
  ...more,
});

/** Ranges of a standard that suits all of these. */
export const wide = [
  { low: "0", high: "20", unit: "bar", mode: "gauge", of_span_percent: "0.01", k: "2" },
  { low: "-2000", high: "30000", unit: "ft", mode: "absolute", absolute: "1", k: "2" },
];

/** Dates of a standard whose calibration does not expire. */
export const lasting = { calibrated: "2026-01-10", due: "2199-01-01", status: "in service" };

/** gauge is a gauge of 10 bar, read at pressures. */
export const gauge = (more = {}, values = ["0", "5", "10"]) => ({
  range: bar,
  limit: percent,
  definition: { kind: "gauge", points: { values }, directions: "up", ...more },
});

/** leak is a closed system with one phase. */
export const leak = (phase, more = {}) => ({
  range: bar,
  particulars: { volume_m3: "0.0125" },
  definition: { kind: "leak", phases: [{ name: "pressure", ...phase }], ...more },
});

/** contact acts when the pressure has risen to 1.5 bar. */
export const contact = (more = {}) => ({
  name: "K1",
  acts: "rising",
  nominal: "1.5",
  tolerance: "0.05",
  safe: "open",
  ...more,
});

export const deadBand = { dead_band: { low: "0.6", high: "0.8" } };

/** pressureSwitch has one contact. */
export const pressureSwitch = (cycles = 1, more = {}) => ({
  range: bar,
  particulars: { contacts: [contact(more)] },
  definition: { kind: "switch", cycles, approach: { low: "0.6", high: "1.7" }, rate: "0.01" },
});

/** burst is a lot of rupture discs marked with 5 bar. */
export const burst = (discs = 1, temperature = "none") => ({
  range: bar,
  particulars: { marked: "5", lot: "L-7", volume_m3: "0.0002" },
  definition: { kind: "burst", discs, rate: "0.1", temperature },
});

/** altimeter is tested on its scale. */
export const altimeter = (highest_ft, particulars = bears(), read = { clause: "clause 9", by: "the inspector" }) => ({
  range: feet,
  particulars,
  definition: { kind: "altimeter", limits_read: read, tests: ["scale"], highest_ft },
});

/**
 * furnish writes a method and an instrument for each thing, by its name, and gives the instruments'
 * ids. named(name, kind) gives further fields of their records.
 */
export async function furnish(admin, things, named) {
  const ids = {};
  for (const [name, { definition, ...thing }] of Object.entries(things)) {
    const { kind } = definition;
    const { method: of = {}, ...more } = named(name, kind, Object.keys(ids).length + 1);
    const method = await admin.write("method", { name: `Test: ${name}`, kind, version: 1, definition, ...of });
    assert.equal(thing.method, undefined);
    ids[name] = await admin.write("instrument", { kind, status: "in service", method, ...thing, ...more });
  }
  return ids;
}

/** today is the date of the round on the phone. */
export function today() {
  const now = new Date();
  const two = (n) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
