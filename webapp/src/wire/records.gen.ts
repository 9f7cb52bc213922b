// Written by go generate ./server/plant from the table in fields_test.go; do not edit.

const range = {
  low: "text",
  high: "text",
  unit: "text",
  mode: "text",
  of_reading_percent: "text",
  of_span_percent: "text",
  absolute: "text",
  stability_ppm: "text",
  k: "text",
} as const;

const contact = {
  name: "text",
  acts: "text",
  safe: "text",
  nominal: "text",
  tolerance: "text",
  tolerance_percent: "text",
  safety_function: "flag",
  dead_band: {
    low: "text",
    high: "text",
  },
} as const;

const weakest = {
  pressure: "text",
  high: "text",
  part: "text",
  impact_pa: "text",
} as const;

const particulars = {
  contacts: [contact],
  weakest: weakest,
  relief: "text",
  volume_m3: "text",
  added_volume_m3: "text",
  max_rate_kt_min: "text",
  highest_ft: "text",
  lowest_ft: "text",
  max_cas_kt: "text",
  range_percent: {
    low: "text",
    high: "text",
  },
  marked_pressure: "text",
} as const;

const ordered = {
  number: "text",
  text: "text",
  wanted: "text",
  priority: "text",
  from: "text",
  done: "text",
} as const;

const point = {
  applied: "text",
  error: "text",
  expanded: "text",
  k: "text",
} as const;

const piece = {
  drift_per_year: "text",
  years_since: "text",
  resolution: "text",
  max_rate: "text",
  points: [point],
  low: "text",
  high: "text",
  unit: "text",
  mode: "text",
  of_reading_percent: "text",
  of_span_percent: "text",
  absolute: "text",
  stability_ppm: "text",
  k: "text",
} as const;

const certificate = {
  number: "text",
  calibrated: "text",
  due: "text",
  by: "text",
  accreditation: "text",
  file: "text",
  range: range,
  points: [point],
} as const;

const definition = {
  kind: "text",
  unit: "text",
  mode: "text",
  text: "text",
  tap: "flag",
  max_rate_kt_min: "text",
  steps: "json",
  rules: "json",
} as const;

const draft = {
  name: "text",
  at: "text",
  why: "text",
  from: "number",
  cautions: ["text"],
  definition: "json",
} as const;

const methodApproval = {
  by: "text",
  of: "text",
  why: "text",
  note: "text",
  alone: "flag",
} as const;

const draftRemark = {
  of: "text",
  why: "text",
} as const;

const stop = {
  instrument: "text",
  method: "text",
} as const;

const method = {
  id: "text",
  name: "text",
  reason: "text",
  definition: definition,
} as const;

const limit = {
  rule: "text",
  class: "text",
  stop_pin: "flag",
  grade: "text",
  of_span_percent: "text",
  of_reading_percent: "text",
  absolute: "text",
} as const;

const signal = {
  low: "text",
  high: "text",
  unit: "text",
  law: "text",
} as const;

const used = {
  id: "text",
  range: piece,
  snapshot: {
    name: "text",
    serial: "text",
    manufacturer: "text",
    model: "text",
    certificate_no: "text",
    calibrated: "text",
    due: "text",
    range: piece,
  },
  reason: "text",
} as const;

const answer = {
  ok: "flag",
  note: "text",
  state: "text",
  way: "text",
} as const;

const notTested = {
  why: "text",
  cause: "text",
  reason: "text",
  at: "text",
} as const;

const bypass = {
  name: "text",
  state: "text",
  reason: "text",
} as const;

const disposition = {
  way: "text",
  serial: "text",
  by: "text",
  until: "text",
  reason: "text",
  code: "text",
  at: "text",
} as const;

const order = {
  number: "text",
  received: "text",
} as const;

const surroundings = {
  temperature_c: "text",
  pressure_hpa: "text",
  humidity_percent: "text",
} as const;

const limb = {
  standard_above_m: "text",
  fluid: "text",
  density_kg_m3: "text",
  gravity_m_s2: "text",
  latitude_deg: "text",
} as const;

const pass = {
  verdict: "text",
  worst_fraction: "number",
  results: "json",
} as const;

const afterSummary = {
  open: "flag",
  safety: "flag",
  way: "text",
  until: "text",
} as const;

const planStep = {
  id: "text",
  do: "text",
  screen: "number",
  direction: "text",
  target: "text",
  unit: "text",
  seconds: "number",
  count: "number",
  of: "text",
  text: "text",
  as: "text",
  rate: "text",
  until: "text",
  within: "text",
  at_most_s: "number",
  every_s: "number",
  many: "flag",
  trace: "flag",
  optional: "flag",
  safety: "flag",
  make_safe: "text",
  over: "flag",
  unjudged: "flag",
} as const;

const plan = {
  steps: [planStep],
  as_found_once: "flag",
  duration_s: "number",
  screens: "number",
} as const;

const file = {
  name: "text",
  packed: "text",
  rows: "text",
} as const;

const moment = {
  at: "text",
} as const;

const finding = {
  verdict: "text",
  reason: "text",
  complete: "flag",
  due_months: "text",
  points: ["json"],
} as const;

const sequence = {
  points: {
    count: "text",
    values: ["?", ["text"]],
    percents: ["?", ["text"]],
  },
  directions: "text",
  cycles: "text",
  series: [{
    direction: "text",
    remount: "flag",
    exercise: "text",
    percents: ["text"],
  }],
  exercise: "text",
  exercise_hold_s: "text",
  rest_s: "text",
  hold_s: "text",
  hold_top_s: "text",
  tap: "flag",
  way: "text",
  decision: {
    rule: "text",
    guard_factor: "text",
    min_probability: "text",
    coverage: "text",
    needed_ratio: "text",
  },
} as const;

const rule = {
  name: "text",
  low: "text",
  high: "text",
  unit: "text",
  when: "text",
  text: "text",
} as const;

/** What the fields of each kind of record hold that hold more than a text. */
export const shapes = {
  instrument: {
    range: range,
    particulars: particulars,
    order: ordered,
  },
  standard: {
    ranges: [piece],
    certificate: certificate,
  },
  method: {
    definition: definition,
    draft: draft,
    approval: methodApproval,
    sent_back: draftRemark,
  },
  round: {
    stops: [stop],
    taken_back: {
      reason: "text",
    },
  },
  visit: {
    method: method,
    item: {
      particulars: particulars,
      tag: "text",
      serial: "text",
      description: "text",
      kind: "text",
      manufacturer: "text",
      model: "text",
      range: range,
      resolution: "text",
      overload: "text",
      limit: limit,
      area: "text",
      place: "text",
      medium: "text",
      output: ["?", signal],
    },
    standard: used,
    meter: used,
    barometer: used,
    cautions: {
      met: "flag",
      permit: "text",
      open: "json",
    },
    identity: answer,
    condition: answer,
    not_tested: notTested,
    bypasses: {
      none: "flag",
    },
    bypass: bypass,
    disposition: disposition,
    since: {
      visit: "text",
      at: "text",
      note: "text",
    },
    manifold: {
      visits: ["text"],
      high: "text",
      unit: "text",
    },
    order: order,
    surroundings: surroundings,
    head: limb,
    adjusted: {
      done: "flag",
      note: "text",
    },
    remark: {
      text: "text",
    },
    photo: {
      sha256: "text",
      type: "text",
      caption: "text",
    },
    signature: {
      name: "text",
      at: "text",
      strokes: "json",
    },
    summary: {
      as_found: ["?", pass],
      as_left: ["?", pass],
      after: ["?", afterSummary],
    },
    approval: {
      certificate: "text",
    },
    check: answer,
  },
  result: {
    adjusted: {
      done: "flag",
    },
    summary: {
      as_found: ["?", pass],
      as_left: ["?", pass],
    },
    certificate: {
      number: "text",
      by: "text",
      file: "text",
    },
    brought: {
      sheet: "text",
      name: "text",
      line: "text",
      at: "text",
    },
  },
  run: {
    plan: plan,
    capture: {
      step: "text",
      of: "text",
      value: "text",
      unit: "text",
      at: "text",
      supersedes: "text",
      reason: "text",
      typed: "text",
      reading: "json",
      file: file,
    },
    done: moment,
    closed: {
      at: "text",
      stopped: "text",
    },
    finding: finding,
  },
  value: {
    range: piece,
    limit: limit,
    point: point,
    file: file,
    definition: definition,
    particulars: particulars,
    sequence: sequence,
    rules: [rule],
  },
} as const;
