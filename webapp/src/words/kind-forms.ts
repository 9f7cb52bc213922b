/* The forms of every kind of work, in English: what is asked of a method and of its instrument, by which words. */
import { choice, number, only, text, time, whole } from "./boxes";
import type { Doc, Field } from "./field";
import { inLanguage } from "./in-language";

/**
 * A kind of work: its method's form, the form of what its instrument is, a method to begin with and
 * an instrument to try it on.
 */
export type KindForm = {
  method: readonly Field[];
  particulars: readonly Field[];
  usual: Doc;
  example: { low: string; high: string; unit: string; mode?: string };
  parts: (high: string) => Doc;
};

const source = text("source", "Where its limits come from", { hint: "as printed on results and certificates" });
const limitsRead: Field = {
  name: "limits_read",
  label: "Limits checked against the source document",
  hint: "Limits quoted from memory give no verdict until they are checked.",
  as: "group",
  fields: [
    { name: "clause", label: "Document, edition, clause", as: "text", needed: true },
    { name: "by", label: "Read by", as: "text", needed: true },
  ],
  switch: "They were checked",
};
const ambient = number("ambient_pa", "Atmospheric pressure", { unit: "Pa", hint: "empty: 101325 Pa, absolute" });
const heats = number("ratio_of_heats", "Ratio of specific heats of the gas", { hint: "empty: 1.4" });
const litres = (name: string, label: string, hint?: string): Field => ({
  name,
  label,
  as: "scaled",
  places: 3,
  unit: "L",
  ...(hint ? { hint } : {}),
});
const share = (name: string, label: string): Field => ({ name, label, as: "scaled", places: 2, unit: "%" });
const asked = (name: string, label: string) =>
  choice(name, label, "asked", [
    ["asked", "asked for"],
    ["none", "not asked for"],
  ]);

/**
 * decision is the rule that figures are judged by; of a leak's rate, which has one limit, no rule
 * of two limits.
 */
const decision = (usual: string, twoLimits: boolean): Field => ({
  name: "decision",
  label: "Decision rule",
  as: "group",
  fields: [
    choice("rule", "Judged by", "", [
      ["", usual],
      ["simple", "simple acceptance: the figure against the limit"],
      ["guarded", "guarded acceptance: the limit less a guard band"],
      ["guarded-four", "guarded acceptance, with conditional verdicts"],
      ...(twoLimits ? [["managed", "a guard band that keeps the risk below 2 %"] as const] : []),
      ["probability", "the probability of conformity"],
    ]),
    only(
      "rule",
      ["guarded", "guarded-four"],
      number("guard_factor", "Guard band, in expanded uncertainties", { hint: "empty: 1" }),
    ),
    only("rule", ["probability"], number("min_probability", "Minimum probability for a pass", { hint: "empty: 0.95" })),
    only("rule", undefined, number("k", "Coverage factor k", { hint: "empty: by the degrees of freedom" })),
    only(
      "rule",
      undefined,
      number("coverage", "Coverage probability from which k is found", { hint: "empty: 0.9545; this or k" }),
    ),
    only("rule", undefined, number("needed_ratio", "Test uncertainty ratio, at least", { hint: "empty: 4" })),
  ],
});

const leak: KindForm = {
  method: [
    {
      name: "phases",
      label: "Phases",
      hint: "Each phase has its own pressure; below zero for a vacuum. One limit per phase; without a limit the figures are reported and not judged.",
      as: "list",
      item: (n) => `phase ${n}`,
      most: 8,
      needed: true,
      fields: [
        text("name", "Name", { hint: "such as vacuum or pressure" }),
        number("pressure", "Test pressure", { needed: true }),
        text("unit", "Unit", { hint: "empty: the instrument's" }),
        choice("mode", "This pressure is", "", [
          ["", "as the sensor shows it"],
          ["gauge", "gauge"],
          ["absolute", "absolute"],
        ]),
        number("rate", "Maximum fill rate", { unit: "a second" }),
        time("fill_s", "Time to fill"),
        time("stabilise_s", "Wait to stabilise"),
        time("measure_s", "Measure for", { needed: true }),
        time("every_s", "Reading interval"),
        whole("runs", "Runs", { hint: "empty: 1; at most 5" }),
        choice("rule", "Limit by a rule", "", [
          ["", "none"],
          ["tp-201.3", "TP-201.3, vapour space of a filling station"],
        ]),
        only("rule", ["tp-201.3"], choice("nozzles", "Nozzles, for that rule", undefined, [["1-6", "1 to 6"]])),
        ...[
          number("limit_pa_s", "Limit: change of pressure", { unit: "Pa/s" }),
          number("limit_pa_m3_s", "Limit: leak rate, for which the volume is needed", { unit: "Pa\u00b7m\u00b3/s" }),
          number("limit_end", "Limit: pressure that must be left at the end"),
          number("limit_change", "Limit: mean change of the last two runs"),
        ].map((f) => only("rule", [""], f)),
        only("limit_change", undefined, number("agree_within", "These two runs agree within")),
      ],
    },
    asked("temperature", "Temperature of the gas"),
    asked("barometer", "Barometer, where the sensor shows gauge pressure"),
    number("confidence", "Confidence", { hint: "empty: 0.95" }),
    decision("passes or fails where it keeps the uncertainty from its limit", false),
    number("u_temperature_k", "Uncertainty of one reading of the temperature", { unit: "K" }),
    number("u_barometer_pa", "Uncertainty of one reading of the barometer", { unit: "Pa" }),
    number("drift_k", "Unobserved change of temperature", {
      unit: "K",
      hint: "over the time, where it is not read; empty: 0.2",
    }),
    number("drift_pa_h", "Unobserved change of the barometer", {
      unit: "Pa an hour",
      hint: "where it is not read; empty: 100",
    }),
    time("sensor_time_s", "Time constant of the sensor"),
    number("reference_temperature_c", "Reference temperature of leak rates", { unit: "\u00b0C", hint: "empty: 20" }),
    number("sccm_temperature_c", "Reference temperature of standard cubic centimetres", {
      unit: "\u00b0C",
      hint: "empty: 0",
    }),
    number("added_pressure", "Pressure at which the known volume is connected", {
      hint: "only where the volume is measured with a known volume",
    }),
    source,
  ],
  particulars: [
    litres("volume_m3", "Volume of the system"),
    only("volume_m3", undefined, share("u_volume_rel", "Its standard uncertainty")),
    litres("added_volume_m3", "Known volume, connected to measure it"),
    only("added_volume_m3", undefined, share("u_added_rel", "Standard uncertainty of the known volume")),
    weakest("The weakest part of the system", true),
    ambient,
    heats,
  ],
  usual: {
    kind: "leak",
    phases: [{ name: "pressure", pressure: "", stabilise_s: 120, measure_s: 180, every_s: 15 }],
    temperature: "asked",
    barometer: "asked",
  },
  example: { low: "-100", high: "1000", unit: "kPa", mode: "gauge" },
  parts: () => ({ volume_m3: "0.005" }),
};

function weakest(label: string, low: boolean): Field {
  return {
    name: "weakest",
    label,
    as: "group",
    hint: "The part that bears the least, in the instrument's unit.",
    fields: [
      text("part", "Which part"),
      number("high", "Highest pressure", { needed: true }),
      ...(low ? [number("low", "Lowest pressure")] : []),
    ],
  };
}

const switches: KindForm = {
  method: [
    whole("cycles", "Cycles", { hint: "empty: 3" }),
    {
      name: "approach",
      label: "Turning points of the pressure",
      as: "group",
      hint: "As pressures, or in per cent of the lowest and the highest set point. Empty: chosen from the dead band.",
      fields: [
        number("low", "From below"),
        number("high", "Turn above"),
        number("low_percent", "From below", { unit: "% of the lowest" }),
        number("high_percent", "Turn above", { unit: "% of the highest" }),
      ],
    },
    number("rate", "Slow ramp near the set point", { unit: "a second", hint: "empty: 1 % of the set point" }),
    number("latency_s", "Delay of the contact's record", { unit: "s", hint: "corrected with the rate of the ramp" }),
    whole("debounce_samples", "Debounce: equal samples that count as a change", { hint: "empty: 3" }),
    number("bounce_window_s", "Contact bounce window", { unit: "s", hint: "empty: 0.5" }),
    time("settle_s", "Wait at the turns"),
    decision("not stated: the figure against the limit", true),
    source,
  ],
  particulars: [
    {
      name: "contacts",
      label: "Contacts",
      as: "list",
      item: (n) => `contact ${n}`,
      most: 4,
      needed: true,
      fields: [
        text("name", "Name", { hint: "such as alarm or trip" }),
        choice("acts", "It acts when the pressure", undefined, [
          ["rising", "rises"],
          ["falling", "falls"],
        ]),
        number("nominal", "Set point", { needed: true }),
        number("tolerance", "Tolerance, plus or minus", { hint: "this or the next" }),
        number("tolerance_percent", "Tolerance, plus or minus", { unit: "% of set point" }),
        {
          name: "dead_band",
          label: "Dead band",
          as: "group",
          fields: [number("low", "At least", { needed: true }), number("high", "At most", { needed: true })],
        },
        choice("safe", "Safe state of the contact", "", [
          ["", "not said"],
          ["open", "open"],
          ["closed", "closed"],
        ]),
        {
          name: "safety_function",
          label: "It is part of a safety function: its as-found cannot be repeated",
          as: "flag",
        },
      ],
    },
    ambient,
  ],
  usual: { kind: "switch", cycles: 3 },
  example: { low: "0", high: "10", unit: "bar", mode: "gauge" },
  parts: (high) => ({ contacts: [{ acts: "rising", nominal: part(high, 0.5), tolerance_percent: "2" }] }),
};

const part = (high: string, share: number): string => {
  const n = Number(high.replace(",", ".")) * share;
  return Number.isFinite(n) ? String(Number(n.toPrecision(6))) : "1";
};

const burst: KindForm = {
  method: [
    whole("discs", "Discs", { hint: "empty: 1" }),
    number("start", "Start from", { hint: "empty: zero" }),
    number("end_limit", "End limit, if nothing bursts", { hint: "common practice: above the burst that is expected" }),
    number("rate", "Rate of rise", { unit: "a second", needed: true }),
    number("tolerance", "Tolerance, plus or minus", {
      hint: "this or the next; empty: ASME's, 2 psi up to 40 psi and 5 % above",
    }),
    number("tolerance_percent", "Tolerance, plus or minus", { unit: "% of the marked" }),
    asked("temperature", "Temperature at the disc"),
    decision("the figure against the tolerance", true),
    number("drop_fraction", "Burst: a fall by this fraction of the peak", { hint: "empty: 0.2" }),
    number("window_s", "\u2026 within", { unit: "s", hint: "empty: 0.5" }),
    whole("hold_samples", "\u2026 and stays for this many samples", { hint: "empty: 3" }),
    number("spike_threshold", "A single sample this far off counts as an electrical spike"),
    number("arm", "Detect a burst only above"),
    number("sensor_lag_s", "Lag of the sensor", { unit: "s" }),
    number("interval_s", "Time between samples, where it is typed", { unit: "s" }),
    source,
  ],
  particulars: [
    number("marked", "Marked burst pressure", { needed: true }),
    number("requested", "Requested burst pressure"),
    {
      name: "range_percent",
      label: "Manufacturing range, in per cent of the requested",
      as: "group",
      fields: [number("low", "From", { needed: true }), number("high", "To", { needed: true })],
    },
    text("lot", "Lot"),
    whole("lot_size", "Discs in the lot"),
    text("material", "Material"),
    number("coincident_temperature_c", "Coincident temperature", { unit: "\u00b0C" }),
    number("full_scale", "Full scale of the sensor", { hint: "empty: the upper end of the range" }),
    litres("volume_m3", "Volume under pressure", "for the stored energy"),
    heats,
    number("bulk_modulus_pa", "Bulk modulus, where a liquid is used", { unit: "Pa" }),
    ambient,
  ],
  usual: { kind: "burst", discs: 1, temperature: "asked" },
  example: { low: "0", high: "10", unit: "bar", mode: "gauge" },
  parts: (high) => ({ marked: part(high, 0.5), volume_m3: "0.0005" }),
};

const pitot = choice(
  "pitot",
  "Pitot line during the test",
  "tied",
  [
    ["tied", "tied to the static line"],
    ["open", "open"],
    ["none", "there is none"],
  ],
  "Pitot must never be below static.",
);
const settle = (label: string, hint = "empty: 0:01:00") => time("settle_s", label, { hint });
const airCommon = (settled = settle("Wait at each point", "empty: 0:00:10")): Field[] => [
  number("max_rate_ft_min", "Maximum rate of climb and descent", { unit: "ft/min" }),
  number("max_rate_kt_min", "Maximum rate of change of airspeed in the test", { unit: "kt/min" }),
  settled,
  whole("due_months", "Due again after", { unit: "calendar months", hint: "empty: 24" }),
  source,
  limitsRead,
];
const airParticulars: Field[] = [
  number("lowest_ft", "Lowest permitted altitude", { unit: "ft" }),
  number("highest_ft", "Highest permitted altitude", { unit: "ft" }),
  number("max_rate_ft_min", "Maximum rate of climb or descent", { unit: "ft/min" }),
  number("max_rate_pa_s", "Maximum rate of change of static pressure", { unit: "Pa/s" }),
  number("max_cas_kt", "Maximum airspeed", { unit: "kt" }),
  number("max_rate_kt_min", "Maximum rate of change of airspeed", { unit: "kt/min" }),
  {
    name: "weakest",
    label: "The weakest indicator on the lines",
    as: "group",
    fields: [text("part", "Which"), number("impact_pa", "Highest impact pressure", { unit: "Pa", needed: true })],
  },
  choice("subscale", "Barometric scale in", "inHg", [
    ["inHg", "inHg"],
    ["hPa", "hPa"],
  ]),
  number("field_elevation_ft", "Elevation of the field", { unit: "ft" }),
  number("field_pa", "Pressure of the field", { unit: "Pa", hint: "only where it is fixed; else it is asked for" }),
];
const tests = [
  ["scale", "Scale error"],
  ["hysteresis", "Hysteresis"],
  ["after-effect", "After effect"],
  ["friction", "Friction"],
  ["case-leak", "Case leak"],
  ["barometric", "Barometric scale"],
  ["rvsm", "RVSM points"],
] as const;

/** tested shows a field while its test is ticked, or none is, which are all but the last. */
const tested = (test: (typeof tests)[number][0], f: Field) => only("tests", ["", test], f);

const altimeter: KindForm = {
  method: [
    { name: "tests", label: "Tests", as: "checks", options: tests, hint: "None ticked: all but the RVSM points." },
    number("highest_ft", "Up to", { unit: "ft", hint: "empty: as high as the instrument" }),
    pitot,
    {
      name: "scale",
      label: "Scale error: points of your own",
      hint: "Empty: the points and tolerances of Part 43 Appendix E, Table I.",
      when: { field: "tests", is: ["", "scale", "hysteresis"] },
      as: "list",
      item: (n) => `scale point ${n}`,
      fields: [
        number("ft", "Altitude", { unit: "ft", needed: true }),
        number("tolerance_ft", "Tolerance", { unit: "ft", hint: "empty: the table's" }),
      ],
    },
    tested("hysteresis", number("hysteresis_ft", "Hysteresis, at most", { unit: "ft", hint: "empty: the rule's" })),
    tested(
      "after-effect",
      number("after_effect_ft", "After effect, at most", { unit: "ft", hint: "empty: the rule's" }),
    ),
    tested("friction", {
      name: "friction",
      label: "Friction: points of your own",
      hint: "Empty: those of Table III.",
      as: "list",
      item: (n) => `friction point ${n}`,
      fields: [
        number("ft", "Altitude", { unit: "ft", needed: true }),
        number("tolerance_ft", "Tolerance", { unit: "ft", hint: "empty: the table's" }),
      ],
    }),
    tested(
      "case-leak",
      number("case_leak_ft", "Case leak in a minute, at most", { unit: "ft", hint: "empty: the rule's" }),
    ),
    tested("barometric", {
      name: "barometric",
      label: "Barometric scale: settings of your own",
      hint: "Empty: those of Table IV.",
      as: "list",
      item: (n) => `setting ${n}`,
      fields: [
        number("inhg", "Setting", { unit: "inHg", needed: true }),
        number("difference_ft", "Difference of altitude", { unit: "ft", hint: "empty: the table's" }),
      ],
    }),
    tested(
      "barometric",
      number("barometric_ft", "Barometric scale, at most", { unit: "ft", hint: "empty: the rule's" }),
    ),
    {
      name: "rvsm",
      label: "Reduced vertical separation",
      as: "group",
      switch: "There are points for it",
      fields: [
        { name: "points_ft", label: "Altitudes", as: "numbers", unit: "ft", needed: true },
        choice("group", "Approved as", undefined, [
          ["earlier-basic", "group, earlier approval, basic envelope"],
          ["earlier-full", "group, earlier approval, full envelope"],
          ["later-full", "group, later approval, full envelope"],
          ["non-group-basic", "on its own, basic envelope"],
          ["non-group-full", "on its own, full envelope"],
        ]),
        number("residual_ft", "Residual static source error", { unit: "ft" }),
        number("limit_ft", "Limit of the approval", { unit: "ft" }),
      ],
    },
    ...airCommon(tested("case-leak", settle("Wait before the case leak is timed"))),
  ],
  particulars: airParticulars,
  usual: { kind: "altimeter", pitot: "none", highest_ft: "20000", max_rate_ft_min: "3000", due_months: 24 },
  example: { low: "-1000", high: "20000", unit: "ft" },
  parts: () => ({}),
};

const airspeed: KindForm = {
  method: [
    choice("table", "Points", "", [
      ["", "points of your own, below"],
      ["10-150", "the published table, 10 to 150 kt"],
      ["20-250", "the published table, 20 to 250 kt"],
      ["40-400", "the published table, 40 to 400 kt"],
    ]),
    {
      name: "points",
      label: "Points of your own",
      hint: "Rising.",
      when: { field: "table", is: [""] },
      as: "list",
      item: (n) => `point ${n}`,
      fields: [
        number("kt", "Airspeed", { unit: "kt", needed: true }),
        number("tolerance_kt", "Tolerance", { unit: "kt" }),
      ],
    },
    only(
      "table",
      [""],
      choice("rule", "Tolerance of points without one", "stated", [
        ["stated", "each point states its own"],
        ["greater", "5 kt or 3 %, whichever is greater"],
      ]),
    ),
    choice("directions", "Order of the points", "up", [
      ["up", "rising"],
      ["up-down", "rising and falling"],
    ]),
    choice("static", "Static line", "open", [
      ["open", "open to the room"],
      ["controlled", "held at an altitude"],
    ]),
    only("static", ["controlled"], number("at_ft", "\u2026 which is", { unit: "ft", needed: true })),
    ...airCommon(),
  ],
  particulars: airParticulars,
  usual: { kind: "airspeed", table: "20-250", max_rate_kt_min: "60", due_months: 24 },
  example: { low: "0", high: "250", unit: "kt" },
  parts: () => ({}),
};

const verticalSpeed: KindForm = {
  method: [
    {
      name: "points",
      label: "Rates",
      hint: "Below zero for a descent.",
      as: "list",
      item: (n) => `rate ${n}`,
      needed: true,
      fields: [
        number("ft_min", "Rate", { unit: "ft/min", needed: true }),
        number("at_ft", "Through", { unit: "ft", needed: true }),
        number("tolerance_ft_min", "Tolerance", { unit: "ft/min", needed: true }),
        number("over_ft", "Height interval", { unit: "ft", hint: "empty: what a minute takes" }),
      ],
    },
    number("zero_ft_min", "At rest, at most", { unit: "ft/min" }),
    pitot,
    ...airCommon(settle("Wait before each rate", "empty: none")),
  ],
  particulars: airParticulars,
  usual: {
    kind: "vertical-speed",
    pitot: "none",
    points: [
      { ft_min: "1000", at_ft: "2000" },
      { ft_min: "-1000", at_ft: "2000" },
    ],
    due_months: 24,
  },
  example: { low: "-6000", high: "6000", unit: "ft/min" },
  parts: () => ({}),
};

const reporting: KindForm = {
  method: [
    { name: "points_ft", label: "Altitudes", as: "numbers", unit: "ft", needed: true },
    number("tolerance_ft", "Agreement within", { unit: "ft", hint: "empty: the rule's" }),
    pitot,
    ...airCommon(),
  ],
  particulars: airParticulars,
  usual: { kind: "reporting-altitude", points_ft: [0, 2000, 6000, 10000], due_months: 24 },
  example: { low: "-1000", high: "30000", unit: "ft" },
  parts: () => ({}),
};

const pitotStatic: KindForm = {
  method: [
    number("minutes", "Observation time", { unit: "min", hint: "empty: 1" }),
    {
      name: "static",
      label: "Static system",
      as: "group",
      switch: "It is tested",
      fields: [
        number("start_ft", "Start from", { unit: "ft", needed: true }),
        number("limit_ft", "Loss, at most", { unit: "ft", hint: "empty: the rule's" }),
        number("cabin_psi", "Highest cabin differential, where the cabin is pressurised", { unit: "psi" }),
      ],
    },
    {
      name: "pitot",
      label: "Pitot system",
      as: "group",
      switch: "It is tested",
      fields: [
        number("start_kt", "Start from", { unit: "kt", hint: "empty: 150" }),
        number("limit_kt", "Loss, at most", { unit: "kt", hint: "empty: the rule's" }),
        number("at_ft", "With the static line at", { unit: "ft", hint: "empty: the field" }),
      ],
    },
    only(
      "static",
      ["yes"],
      choice("pitot_line", "Pitot line", "tied", [
        ["tied", "tied to the static line while that is tested"],
        ["none", "there is none"],
      ]),
    ),
    ...airCommon(settle("Wait before a leak is timed")),
  ],
  particulars: airParticulars,
  usual: { kind: "pitot-static-leak", static: { start_ft: "1000" }, pitot: { start_kt: "150" }, due_months: 24 },
  example: { low: "-1000", high: "30000", unit: "ft" },
  parts: () => ({}),
};

const forms: { readonly [kind: string]: KindForm } = {
  leak,
  switch: switches,
  burst,
  altimeter,
  airspeed,
  "vertical-speed": verticalSpeed,
  "reporting-altitude": reporting,
  "pitot-static-leak": pitotStatic,
};

/** The kinds of work with a form; a gauge's method and programmes have editors of their own. */
export const kindForms: { readonly [kind: string]: KindForm } = Object.fromEntries(
  Object.entries(forms).map(([kind, f]) => [
    kind,
    { ...f, method: inLanguage(f.method), particulars: inLanguage(f.particulars) },
  ]),
);
