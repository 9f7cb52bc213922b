// Written by cmd/webbuild -types from calc/schema; do not edit.

import type { Json } from "./records";

/** Decimal is a number, or its decimal text, which keeps the last digit as typed. */
export type Decimal = number | string;

export type AfterInput = {
  bypasses?: {
    at?: string;
    name: string;
    reason?: string;
    state: "set" | "removed" | "left";
  }[];
  date?: string;
  found?: "pass" | "conditional-pass" | "fail" | "conditional-fail" | "undecided";
  kind?: string;
  left?: "pass" | "conditional-pass" | "fail" | "conditional-fail" | "undecided";
  safety?: boolean;
  said?: {
    at?: string;
    by?: string;
    code?: string;
    reason?: string;
    serial?: string;
    until?: string;
    way?: "" | "replaced" | "left_in_service" | "taken_out";
  };
};

export type AfterOutput = {
  asked: boolean;
  bypasses_in: number;
  bypasses_unsettled: number;
  calc: string;
  failed: boolean;
  open: boolean;
  ways: ("adjust" | "replaced" | "left_in_service" | "taken_out")[];
};

export type AirInput = {
  co2?: Decimal;
  humidity: Decimal;
  pressure_pa: Decimal;
  temperature_c: Decimal;
};

export type AirOutput = {
  calc: string;
  compressibility: number;
  density_kg_m3: number;
  saturation_pa: number;
  vapour_fraction: number;
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type AirdataInput = {
  altitude_ft?: Decimal;
  altitude_m?: Decimal;
  cas_kt?: Decimal;
  cas_rate_kt_min?: Decimal;
  climb_ft_min?: Decimal;
  elevation_ft?: Decimal;
  field_pa?: Decimal;
  impact_pa?: Decimal;
  mach?: Decimal;
  model?: "iso" | "ussa1976";
  setting_pa?: Decimal;
  static_pa?: Decimal;
  static_rate_pa_s?: Decimal;
  temperature_c?: Decimal;
  total_pa?: Decimal;
};

export type AirdataOutput = {
  above_field_ft?: number;
  altitude_ft: number;
  altitude_m: number;
  calc: string;
  cas_kt?: number;
  climb_ft_min: number;
  density_kg_m3: number;
  eas_kt?: number;
  field_altitude_ft?: number;
  impact_pa: number;
  impact_pa_per_kt?: number;
  impact_rate_pa_s: number;
  indicated_ft?: number;
  mach?: number;
  qnh_pa?: number;
  sound_m_s: number;
  state: "normal" | "reversed";
  static_inhg: number;
  static_pa: number;
  static_pa_per_ft: number;
  static_rate_pa_s: number;
  tas_kt?: number;
  temperature_k: number;
  total_pa: number;
  total_rate_pa_s: number;
};

export type AltimeterInput = {
  altitude_ft: Decimal;
  reading_ft: Decimal;
  test: "scale";
  tolerance_ft?: Decimal;
} | {
  altitude_ft: Decimal;
  ascending_ft: Decimal;
  descending_ft: Decimal;
  max_altitude_ft: Decimal;
  test: "hysteresis";
} | {
  after_ft: Decimal;
  ambient_change_ft?: Decimal;
  original_ft: Decimal;
  test: "after-effect";
} | {
  after_ft: Decimal;
  altitude_ft: Decimal;
  before_ft: Decimal;
  test: "friction";
  tolerance_ft?: Decimal;
} | {
  altitude_ft?: Decimal;
  end_ft: Decimal;
  minutes?: Decimal;
  start_ft: Decimal;
  test: "case-leak";
} | {
  reading_at_29_92_ft: Decimal;
  reading_ft: Decimal;
  setting_inhg: Decimal;
  test: "barometric";
} | {
  displayed_ft: Decimal;
  reported_ft: Decimal;
  test: "correspondence";
} | {
  group: "earlier-basic" | "earlier-full" | "later-full";
  mean_ft: Decimal;
  sigma_ft: Decimal;
  test: "rvsm";
} | {
  avionics_ft: Decimal;
  group: "non-group-basic" | "non-group-full";
  residual_ft: Decimal;
  test: "rvsm";
};

export type AltimeterOutput = {
  calc: string;
  difference_ft?: number;
  error_ft: number;
  mean_ft?: number;
  mean_tolerance_ft?: number;
  static_pa?: number;
  table_difference_ft?: number;
  table_static_inhg?: number;
  tolerance_ft: number;
  verdict: "pass" | "fail";
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type BalanceInput = {
  air_density_kg_m3?: Decimal;
  area_m2: Decimal;
  distortion_per_pa?: Decimal;
  expansion_per_k?: Decimal;
  fluid_density_kg_m3?: Decimal;
  gravity_m_s2: Decimal;
  mode?: "gauge" | "absolute";
  residual_pa?: Decimal;
  standard_above_m?: Decimal;
  submerged_volume_m3?: Decimal;
  surface_tension_n_m?: Decimal;
  temperature_c?: Decimal;
  weights: {
    density_kg_m3: Decimal;
    kind: "true" | "conventional";
    mass_kg: Decimal;
  }[];
};

export type BalanceOutput = {
  calc: string;
  iterations: number;
  pressure_at_instrument_pa: number;
  pressure_pa: number;
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type BegunField = {
  heads: BegunHead[];
  replaced: string[];
};

export type BegunHead = {
  author?: string;
  change?: string;
  device?: string;
  stamp?: string;
  value?: Json;
  wall?: string;
};

export type BegunInput = {
  runs: BegunRecord[];
  visit: BegunRecord;
};

export type BegunOutput = {
  calc: string;
  pressed: boolean;
  run?: string;
  stage: string;
  step?: number;
  steps?: number;
  target?: string;
  unit?: string;
};

export type BegunRecord = {
  fields: { [name: string]: BegunField };
  id: string;
  kind: string;
  parent?: string;
  site?: string;
};

export type BringInput = {
  standards: {
    calibrated?: string;
    due?: string;
    id: string;
    name?: string;
    ranges: { [name: string]: Json }[];
    status?: string;
  }[];
  stops: {
    area?: string;
    cautions?: string[];
    connection?: string;
    id: string;
    instrument?: { [name: string]: Json };
    medium?: string;
    method?: { [name: string]: Json };
    own?: string;
  }[];
  today: string;
};

export type BringOutput = {
  areas: {
    area: string;
    connections: {
      name: string;
      stops: number;
    }[];
    media: {
      name: string;
      stops: number;
    }[];
    minutes: number;
    oxygen: boolean;
    stops: string[];
  }[];
  calc: string;
  minutes: number;
  standards: {
    standard: string;
    stops: string[];
  }[];
  stops: {
    id: string;
    minutes?: number;
  }[];
  unknown: number;
  unserved: {
    barometer?: boolean;
    meter?: boolean;
    stop: string;
  }[];
};

export type BudgetInput = {
  correlations?: {
    a: string;
    b: string;
    r: Decimal;
  }[];
  coverage?: Decimal;
  terms: {
    dof?: Decimal;
    expanded?: Decimal;
    half_width?: Decimal;
    k?: Decimal;
    name: string;
    sensitivity?: Decimal;
    shape?: "normal" | "rectangular" | "triangular" | "arcsine";
    u?: Decimal;
  }[];
  trials?: {
    count: Decimal;
    seed: Decimal;
  };
};

export type BudgetOutput = {
  calc: string;
  dof?: number;
  dof_used?: number;
  expanded: number;
  k: number;
  terms: {
    contribution: number;
    name: string;
    share: number;
    u: number;
  }[];
  trials?: {
    high: number;
    low: number;
    mean: number;
    sd: number;
    shortest_high: number;
    shortest_low: number;
  };
  u: number;
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type BurstInput = {
  arm?: Decimal;
  drop_fraction?: Decimal;
  hold_samples?: Decimal;
  interval_s?: Decimal;
  marked: Decimal;
  ramp_rate_per_s?: Decimal;
  sensor_full_scale?: Decimal;
  sensor_lag_s?: Decimal;
  spike_threshold?: Decimal;
  tolerance?: Decimal;
  tolerance_percent?: Decimal;
  trace: {
    p: Decimal[];
    t_s: Decimal[];
  };
  unit: string;
  window_s?: Decimal;
};

export type BurstOutput = {
  burst: boolean;
  calc: string;
  deviation?: number;
  deviation_percent?: number;
  drop_index?: number;
  lag_error?: number;
  peak: number;
  peak_index: number;
  peak_t_s: number;
  raw_maximum: number;
  reason?: string;
  sampling_step?: number;
  saturated: boolean;
  tolerance: number;
  u_noise?: number;
  u_sampling?: number;
  verdict: "pass" | "fail" | "undecided";
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type CertificateInput = {
  calibrated: string;
  certificate?: {
    points: {
      applied: Decimal;
      dof?: Decimal;
      error?: Decimal;
      expanded: Decimal;
      k?: Decimal;
    }[];
  };
  drift_per_year?: Decimal;
  due: string;
  ranges?: {
    absolute?: Decimal;
    high: Decimal;
    k?: Decimal;
    low: Decimal;
    of_reading_percent?: Decimal;
    of_span_percent?: Decimal;
    resolution?: Decimal;
    stability_ppm?: Decimal;
  }[];
  today: string;
  unit?: string;
  years_since?: Decimal;
};

export type CertificateOutput = {
  calc: string;
  doubts: {
    code: "future" | "expired" | "far" | "expanded";
    field: string;
    message: string;
  }[];
};

export type CertificatesInput = {
  certificates: {
    calibrated?: string;
    id: string;
    points?: { [name: string]: Json }[];
    range: { [name: string]: Json };
    wall?: string;
  }[];
  range?: { [name: string]: Json };
  ranges: { [name: string]: Json }[];
};

export type CertificatesOutput = {
  calc: string;
  certificates: {
    id: string;
    of: number;
    whole: boolean;
  }[];
  of?: number;
};

export type CertifyInput = {
  calibrated?: string;
  certificate: {
    by?: string;
    calibrated?: string;
    due?: string;
    number?: string;
    points?: { [name: string]: Json }[];
    range: { [name: string]: Json };
  };
  certificates: {
    calibrated?: string;
    range: { [name: string]: Json };
  }[];
  ranges: { [name: string]: Json }[];
};

export type CertifyOutput = {
  calc: string;
  calibrated?: string;
  certificate_no?: string;
  due?: string;
  in_force: boolean;
  ranges?: { [name: string]: Json }[];
};

export type ChangesInput = {
  after: {
    points: {
      applied: Decimal;
      dof?: Decimal;
      error: Decimal;
      expanded: Decimal;
      k?: Decimal;
    }[];
  };
  before: {
    points: {
      applied: Decimal;
      dof?: Decimal;
      error: Decimal;
      expanded: Decimal;
      k?: Decimal;
    }[];
  };
};

export type ChangesOutput = {
  agree: boolean;
  beyond: number;
  calc: string;
  points: {
    after: number;
    agrees: boolean;
    applied: number;
    before: number;
    drift: number;
    en: number;
  }[];
};

export type ChooseInput = {
  air_hpa?: Decimal;
  barometer?: boolean;
  cautions?: string[];
  instrument: { [name: string]: Json };
  medium?: string;
  meter?: boolean;
  method: { [name: string]: Json };
  own?: string;
  standards: {
    calibrated?: string;
    cleaned_for_oxygen?: string;
    due?: string;
    id: string;
    medium?: string;
    name?: string;
    ranges: { [name: string]: Json }[];
    status?: string;
  }[];
  today: string;
};

export type ChooseOutput = {
  calc: string;
  list: {
    barometer?: boolean;
    barred?: boolean;
    fit: number;
    index: number;
    objections: {
      code: "no_date" | "out_of_date" | "status" | "kind" | "mode" | "low" | "high" | "no_specification" | "no_statement" | "ratio" | "programme" | "oil" | "not_clean";
      due?: string;
      measures?: string;
      needed?: number;
      point?: string;
      ratio?: number;
      text?: string;
    }[];
    range: { [name: string]: Json };
    standard: string;
    worst?: {
      point: string;
      ratio: number;
    };
  }[];
  meter?: boolean;
  needed_ratio?: number;
};

export type ConformityInput = {
  dof?: Decimal;
  guard_factor?: Decimal;
  high?: Decimal;
  k?: Decimal;
  low?: Decimal;
  min_probability?: Decimal;
  rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
  u: Decimal;
  until?: Decimal;
  value: Decimal;
};

export type ConformityOutput = {
  acceptance_high?: number;
  acceptance_low?: number;
  calc: string;
  course?: {
    probability: number;
    value: number;
  }[];
  guard: number;
  probability: number;
  reason?: string;
  risk_of_wrong_acceptance: number;
  stretches?: {
    from: number;
    to: number;
    verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  }[];
  verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type CorrectionsInput = {
  finding: { [name: string]: Json };
  unit: string;
};

export type CorrectionsOutput = {
  calc: string;
  head?: number;
  head_high?: number;
  head_low?: number;
  points: {
    certificate: number;
    judged: number;
    level: number;
    point: string;
    total: number;
    typed: string;
  }[];
  split: boolean;
};

export type DriftInput = {
  at: string;
  coverage?: Decimal;
  found_fraction?: Decimal;
  history: {
    adjusted?: boolean;
    date: string;
    errors: {
      error: Decimal;
      limit?: Decimal;
      point: Decimal;
      u?: Decimal;
    }[];
    left?: {
      error: Decimal;
      limit?: Decimal;
      point: Decimal;
      u?: Decimal;
    }[];
    limit?: Decimal;
  }[];
  interval_months?: Decimal;
  max_probability_out?: Decimal;
};

export type DriftOutput = {
  advice?: "extend" | "keep" | "reduce" | "sooner";
  advice_method?: "forecast" | "last";
  advice_months?: number;
  advice_reason?: "outside" | "bound" | "now" | "close" | "room" | "alone" | "little" | "shortest";
  calc: string;
  due?: string;
  due_point?: number;
  method: string;
  point: number;
  points: {
    dof?: number;
    due?: string;
    n: number;
    point: number;
    predicted?: number;
    predicted_high?: number;
    predicted_low?: number;
    probability_out?: number;
    reason?: string;
    segments?: number;
    slope_per_year?: number;
    slope_u_per_year?: number;
  }[];
  predicted: number;
  predicted_high: number;
  predicted_low: number;
  probability_out?: number;
  slope_per_year: number;
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type DueInput = {
  dates?: string[];
  from?: string;
  months?: number;
  today?: string;
};

export type DueOutput = {
  calc: string;
  dates?: {
    days?: number;
    late: boolean;
    soon: boolean;
  }[];
  due?: string;
};

export type DwellInput = {
  factor?: Decimal;
  interval_s: Decimal;
  leak_pa_m3_s: Decimal;
  sigma_pa: Decimal;
  volume_m3: Decimal;
};

export type DwellOutput = {
  calc: string;
  dwell_s: number;
};

export type EnergyInput = {
  ambient_pa?: Decimal;
  liquid?: {
    bulk_modulus_pa: Decimal;
  };
  pressure_pa: Decimal;
  ratio_of_heats?: Decimal;
  volume_m3: Decimal;
};

export type EnergyOutput = {
  availability_j?: number;
  brode_j?: number;
  calc: string;
  implosion_j?: number;
  isentropic_j?: number;
  isothermal_j?: number;
  level: "low" | "raised" | "high";
  liquid_j?: number;
  pcc2?: {
    distance_m: number;
    energy_j: number;
    floor_m: number;
    required_m: number;
    tnt_kg: number;
  };
  tnt_kg?: number;
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type EntryInput = {
  air_hpa?: Decimal;
  captures: {
    at?: string;
    of: string;
    step: string;
    unit?: string;
    value: string | number;
  }[];
  entry: {
    of: "applied" | "indicated" | "before_tap" | "answer" | "settle" | "trace";
    step: string;
    sure?: boolean;
    unit?: string;
    value: string | number;
  };
  height_m?: Decimal;
  instrument: { [name: string]: Json };
  manifold?: {
    high: Decimal;
    unit: string;
  };
  method: { [name: string]: Json };
};

export type EntryOutput = {
  calc: string;
  findings: {
    code: string;
    level: "refuse" | "ask" | "stop";
    message: string;
    suggest?: string;
  }[];
};

export type EvaluateAir = {
  before?: EvaluateBefore;
  captures: {
    at?: string;
    of: "applied" | "indicated" | "before_tap" | "answer" | "settle";
    step: string;
    unit?: string;
    value: string | number;
  }[];
  complete?: boolean;
  head?: { [name: string]: Json };
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode?: string;
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars?: {
      field_elevation_ft?: Decimal;
      field_pa?: Decimal;
      highest_ft?: Decimal;
      lowest_ft?: Decimal;
      max_cas_kt?: Decimal;
      max_rate_ft_min?: Decimal;
      max_rate_kt_min?: Decimal;
      max_rate_pa_s?: Decimal;
      subscale?: "inHg" | "hPa";
      weakest?: {
        impact_pa: Decimal;
        part?: string;
      };
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  method: {
    after_effect_ft?: Decimal;
    barometric?: {
      difference_ft?: Decimal;
      inhg: Decimal;
    }[];
    barometric_ft?: Decimal;
    case_leak_ft?: Decimal;
    due_months?: Decimal;
    friction?: {
      ft: Decimal;
      tolerance_ft?: Decimal;
    }[];
    highest_ft?: Decimal;
    hysteresis_ft?: Decimal;
    kind: "altimeter";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    pitot?: "tied" | "open" | "none";
    rvsm?: {
      group: "earlier-basic" | "earlier-full" | "later-full" | "non-group-basic" | "non-group-full";
      limit_ft?: Decimal;
      points_ft: Decimal[];
      residual_ft?: Decimal;
    };
    scale?: {
      ft: Decimal;
      tolerance_ft?: Decimal;
    }[];
    settle_s?: Decimal;
    source?: string;
    tests?: ("scale" | "hysteresis" | "after-effect" | "friction" | "case-leak" | "barometric" | "rvsm")[];
  } | {
    at_ft?: Decimal;
    directions?: "up" | "up-down";
    due_months?: Decimal;
    kind: "airspeed";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    points?: {
      kt: Decimal;
      tolerance_kt?: Decimal;
    }[];
    rule?: "stated" | "greater";
    settle_s?: Decimal;
    source?: string;
    static?: "open" | "controlled";
    table?: "10-150" | "20-250" | "40-400";
  } | {
    due_months?: Decimal;
    kind: "vertical-speed";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    pitot?: "tied" | "open" | "none";
    points: {
      at_ft: Decimal;
      ft_min: Decimal;
      over_ft?: Decimal;
      tolerance_ft_min: Decimal;
    }[];
    settle_s?: Decimal;
    source?: string;
    zero_ft_min?: Decimal;
  } | {
    due_months?: Decimal;
    kind: "reporting-altitude";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    pitot?: "tied" | "open" | "none";
    points_ft: Decimal[];
    settle_s?: Decimal;
    source?: string;
    tolerance_ft?: Decimal;
  } | {
    due_months?: Decimal;
    kind: "pitot-static-leak";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    minutes?: Decimal;
    pitot?: {
      at_ft?: Decimal;
      limit_kt?: Decimal;
      start_kt?: Decimal;
    };
    pitot_line?: "tied" | "none";
    settle_s?: Decimal;
    source?: string;
    static?: {
      cabin_psi?: Decimal;
      limit_ft?: Decimal;
      start_ft: Decimal;
    };
  };
  standard?: {
    dof?: Decimal;
    u: Decimal;
  } | {
    certificate?: {
      points: {
        applied: Decimal;
        dof?: Decimal;
        error?: Decimal;
        expanded: Decimal;
        k?: Decimal;
      }[];
    };
    drift_per_year?: Decimal;
    ranges: {
      absolute?: Decimal;
      high: Decimal;
      k?: Decimal;
      low: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      resolution?: Decimal;
      stability_ppm?: Decimal;
    }[];
    years_since?: Decimal;
  };
  surroundings?: { [name: string]: Json };
};

export type EvaluateAirFinding = {
  airspeed?: {
    field_pa?: number;
    points: {
      altitude_ft: number;
      cas_kt: number;
      direction?: "up" | "down";
      error: number;
      fraction?: number;
      impact_pa: number;
      indicated: number;
      limit_high?: number;
      limit_low?: number;
      static_pa: number;
      step: string;
      test: string;
      unit: "ft" | "kt" | "ft/min";
      verdict?: "pass" | "fail" | "undecided";
    }[];
  };
  altimeter?: {
    field_pa?: number;
    points: {
      altitude_ft: number;
      cas_kt: number;
      direction?: "up" | "down";
      error: number;
      fraction?: number;
      impact_pa: number;
      indicated: number;
      limit_high?: number;
      limit_low?: number;
      static_pa: number;
      step: string;
      test: string;
      unit: "ft" | "kt" | "ft/min";
      verdict?: "pass" | "fail" | "undecided";
    }[];
  };
  calc: string;
  complete: boolean;
  due_months: number;
  missing: string[];
  "pitot-static-leak"?: {
    field_pa?: number;
    points: {
      altitude_ft: number;
      cas_kt: number;
      direction?: "up" | "down";
      error: number;
      fraction?: number;
      impact_pa: number;
      indicated: number;
      limit_high?: number;
      limit_low?: number;
      static_pa: number;
      step: string;
      test: string;
      unit: "ft" | "kt" | "ft/min";
      verdict?: "pass" | "fail" | "undecided";
    }[];
  };
  readings: {
    applied: number;
    direction: "up" | "down";
    error: number;
    fraction: number;
    indicated: number;
    limit_high: number;
    limit_low: number;
    point: string;
    series: number;
    step: string;
    verdict: "pass" | "fail" | "undecided";
  }[];
  reason?: string;
  "reporting-altitude"?: {
    field_pa?: number;
    points: {
      altitude_ft: number;
      cas_kt: number;
      direction?: "up" | "down";
      error: number;
      fraction?: number;
      impact_pa: number;
      indicated: number;
      limit_high?: number;
      limit_low?: number;
      static_pa: number;
      step: string;
      test: string;
      unit: "ft" | "kt" | "ft/min";
      verdict?: "pass" | "fail" | "undecided";
    }[];
  };
  results: {
    expanded?: number;
    limit_high?: number;
    limit_low?: number;
    name: string;
    reason?: string;
    source?: string;
    unit: string;
    value: number;
    verdict?: string;
  }[];
  verdict: "pass" | "fail" | "undecided";
  "vertical-speed"?: {
    field_pa?: number;
    points: {
      altitude_ft: number;
      cas_kt: number;
      direction?: "up" | "down";
      error: number;
      fraction?: number;
      impact_pa: number;
      indicated: number;
      limit_high?: number;
      limit_low?: number;
      static_pa: number;
      step: string;
      test: string;
      unit: "ft" | "kt" | "ft/min";
      verdict?: "pass" | "fail" | "undecided";
    }[];
  };
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
  worst?: {
    direction: "up" | "down";
    fraction: number;
    point: string;
  };
};

export type EvaluateBefore = {
  condition?: "good" | "dirty" | "damaged";
  identity?: "same" | "register" | "exchanged" | "wrong";
  safe?: "yes" | "no";
  standard?: "clean" | "not_clean" | "oil";
};

export type EvaluateBurst = {
  before?: EvaluateBefore;
  captures: {
    at?: string;
    of: "applied" | "indicated" | "before_tap" | "answer" | "settle";
    step: string;
    unit?: string;
    value: Json;
  }[];
  complete?: boolean;
  head?: { [name: string]: Json };
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode: "gauge" | "absolute";
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars: {
      ambient_pa?: Decimal;
      bulk_modulus_pa?: Decimal;
      coincident_temperature_c?: Decimal;
      full_scale?: Decimal;
      lot?: string;
      lot_size?: Decimal;
      marked: Decimal;
      material?: string;
      range_percent?: {
        high: Decimal;
        low: Decimal;
      };
      ratio_of_heats?: Decimal;
      requested?: Decimal;
      volume_m3?: Decimal;
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  method: {
    arm?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    discs?: Decimal;
    drop_fraction?: Decimal;
    end_limit?: Decimal;
    hold_samples?: Decimal;
    interval_s?: Decimal;
    kind: "burst";
    rate: Decimal;
    sensor_lag_s?: Decimal;
    source?: string;
    spike_threshold?: Decimal;
    start?: Decimal;
    temperature?: "asked" | "none";
    tolerance?: Decimal;
    tolerance_percent?: Decimal;
    window_s?: Decimal;
  };
  standard?: { [name: string]: Json };
  surroundings?: { [name: string]: Json };
  traces?: {
    barometer_pa?: Decimal[];
    contact?: string;
    p: Decimal[];
    step: string;
    t_s: Decimal[];
    temperature_c?: Decimal[];
    unit: string;
  }[];
};

export type EvaluateBurstFinding = {
  burst: {
    decision: {
      guard_factor?: number;
      min_probability?: number;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
      stated: boolean;
    };
    discs: {
      burst: boolean;
      deviation?: number;
      deviation_percent?: number;
      disc: number;
      drop_index?: number;
      drop_t_s?: number;
      identity?: string;
      lag_error?: number;
      p?: number[];
      peak: number;
      peak_index?: number;
      peak_t_s?: number;
      raw_maximum?: number;
      reason?: string;
      sampling_step?: number;
      saturated: boolean;
      step: string;
      t_s?: number[];
      temperature_c?: number;
      typed?: number;
      u_noise?: number;
      u_sampling?: number;
      verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
    }[];
    full_scale: number;
    limit_high: number;
    limit_low: number;
    lot?: string;
    lot_size?: number;
    marked: number;
    sentence: string;
    statement?: {
      cv_percent?: number;
      interval_95_95?: {
        high: number;
        low: number;
      };
      interval_95_99?: {
        high: number;
        low: number;
      };
      lower_95_95?: number;
      lower_95_99?: number;
      manufacturing_range?: {
        high: number;
        low: number;
      };
      max?: number;
      mean: number;
      mean_high?: number;
      mean_in_range?: boolean;
      mean_low?: number;
      min?: number;
      n: number;
      outside?: number[];
      range?: number;
      sd: number;
      tolerance?: number;
    };
    tolerance: number;
  };
  calc: string;
  complete: boolean;
  energy: {
    availability_j?: number;
    brode_j?: number;
    implosion_j?: number;
    isentropic_j?: number;
    isothermal_j?: number;
    level: "low" | "raised" | "high";
    liquid_j?: number;
    name: string;
    pcc2?: {
      distance_m?: number;
      energy_j?: number;
      floor_m?: number;
      required_m: number;
      tnt_kg?: number;
    };
    pressure_pa: number;
    tnt_kg?: number;
  }[];
  missing: string[];
  reason?: string;
  results: {
    budget?: {
      contribution: number;
      term: string;
    }[];
    dof?: number;
    expanded?: number;
    k?: number;
    limit_high?: number;
    limit_low?: number;
    name: string;
    reason?: string;
    source?: string;
    u?: number;
    unit: string;
    value: number;
    verdict?: string;
  }[];
  verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  warnings: {
    code: string;
    field?: string;
    message: string;
  }[];
};

export type EvaluateGauge = {
  barometer?: {
    dof?: Decimal;
    u: Decimal;
  } | {
    certificate?: {
      points: {
        applied: Decimal;
        error?: Decimal;
        expanded: Decimal;
        k?: Decimal;
      }[];
    };
    drift_per_year?: Decimal;
    ranges: {
      absolute?: Decimal;
      high: Decimal;
      k?: Decimal;
      low: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      stability_ppm?: Decimal;
    }[];
    years_since?: Decimal;
  };
  before?: EvaluateBefore;
  captures: {
    at?: string;
    of: "applied" | "indicated" | "before_tap";
    step: string;
    unit: string;
    value: Decimal;
  }[];
  complete?: boolean;
  head?: {
    air_density_kg_m3?: Decimal;
    density_half_width_kg_m3?: Decimal;
    fluid?: "air" | "nitrogen" | "helium" | "argon" | "co2" | "water" | "mercury" | "oil" | "other";
    fluid_density_kg_m3?: Decimal;
    gas?: "nitrogen" | "air" | "helium" | "argon" | "co2";
    gravity_m_s2?: Decimal;
    half_width_m?: Decimal;
    height_m?: Decimal;
    latitude_deg?: Decimal;
    mode?: "gauge" | "absolute";
    pressure_pa?: Decimal;
    standard_above_m: Decimal;
    temperature_c?: Decimal;
  };
  instrument: {
    high: Decimal;
    limit?: {
      class: string | number;
      rule: "en837";
      stop_pin?: boolean;
    } | {
      grade: string;
      rule: "b40.100";
    } | {
      class: string | number;
      rule: "gb1226";
    } | {
      absolute?: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      rule: "terms";
    };
    low: Decimal;
    mode?: "gauge" | "absolute" | "differential";
    output?: {
      high: Decimal;
      law?: "linear" | "square-root";
      low: Decimal;
      meter_u?: Decimal;
      resolution?: Decimal;
      unit: "mA" | "V";
    };
    overload?: Decimal;
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  meter?: {
    dof?: Decimal;
    u: Decimal;
  } | {
    certificate?: {
      points: {
        applied: Decimal;
        error?: Decimal;
        expanded: Decimal;
        k?: Decimal;
      }[];
    };
    drift_per_year?: Decimal;
    ranges: {
      absolute?: Decimal;
      high: Decimal;
      k?: Decimal;
      low: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      stability_ppm?: Decimal;
    }[];
    years_since?: Decimal;
  };
  method: {
    cycles?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    directions?: "up-down" | "up";
    exercise?: Decimal;
    exercise_hold_s?: Decimal;
    hold_s?: Decimal;
    hold_top_s?: Decimal;
    kind: "gauge";
    points: {
      count?: Decimal;
      percents?: Decimal[];
      values?: Decimal[];
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    rest_s?: Decimal;
    series?: {
      direction: "up" | "down";
      exercise?: Decimal;
      percents?: Decimal[];
      remount?: boolean;
    }[];
    tap?: boolean;
    temperature_coefficient_percent_per_k?: Decimal;
    way?: "applied-set" | "pointer-set";
  };
  standard?: {
    dof?: Decimal;
    u: Decimal;
  } | {
    certificate?: {
      points: {
        applied: Decimal;
        dof?: Decimal;
        error?: Decimal;
        expanded: Decimal;
        k?: Decimal;
      }[];
    };
    drift_per_year?: Decimal;
    ranges: {
      absolute?: Decimal;
      high: Decimal;
      k?: Decimal;
      low: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      resolution?: Decimal;
      stability_ppm?: Decimal;
    }[];
    years_since?: Decimal;
  };
  surroundings?: {
    height_m?: Decimal;
    humidity?: Decimal;
    humidity_percent?: Decimal;
    pressure_hpa?: Decimal;
    pressure_pa?: Decimal;
    reference_temperature_c?: Decimal;
    temperature_c?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
  };
};

export type EvaluateGaugeFinding = {
  calc: string;
  complete: boolean;
  gauge?: {
    adjustment?: {
      residual: number;
      span_factor: number;
      zero_shift: number;
    };
    air?: {
      corrected: number;
      read: number;
    };
    air_density_kg_m3?: number;
    class_met?: string;
    decision?: {
      guard_factor?: number;
      min_probability?: number;
      risk_at_limit?: number;
      rule: string;
    };
    head_correction_high_pa?: number;
    head_correction_low_pa?: number;
    head_correction_pa?: number;
    hysteresis_percent: number;
    inaccuracy_percent: {
      max: number;
      min: number;
    };
    line?: {
      best: {
        intercept: number;
        max_deviation: number;
        slope: number;
      };
      least_squares: {
        intercept: number;
        max_deviation: number;
        slope: number;
      };
      terminal: {
        intercept: number;
        max_deviation: number;
        slope: number;
      };
      zero_based: {
        intercept: number;
        max_deviation: number;
        slope: number;
      };
    };
    measured_error_percent: number;
    output_unit?: "mA" | "V";
    reason?: string;
    repeatability_percent: number;
    signal?: {
      span: number;
      span_percent: number;
      zero: number;
      zero_percent: number;
    };
    temperature_allowance_percent?: number;
    terms?: {
      divisor: number;
      from: string;
      shape: "normal" | "rectangular" | "triangular" | "arcsine";
      term: string;
    }[];
    unit: string;
    verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
    worst?: {
      direction: "up" | "down";
      fraction_of_limit: number;
      point: number;
    };
    zero_deviation?: number;
  };
  missing: string[];
  points?: {
    applied: number;
    budget?: {
      contribution: number;
      divisor?: number;
      from?: string;
      sensitivity?: number;
      shape?: string;
      share: number;
      term: string;
      value: number;
    }[];
    dof?: number;
    dof_reading?: number;
    error: number;
    error_down?: number;
    error_percent?: number;
    error_pressure?: number;
    error_span?: number;
    error_up?: number;
    expanded?: number;
    expanded_reading?: number;
    friction?: number;
    guard?: number;
    hysteresis?: number;
    ideal?: number;
    k?: number;
    k_reading?: number;
    limit?: number;
    mean: number;
    mean_down?: number;
    mean_up?: number;
    not_judged?: "stop pin";
    point: number;
    probability?: number;
    ratio?: number;
    repeatability?: number;
    reproducibility?: number;
    risk?: number;
    typed?: number;
    u?: number;
    verdict?: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  }[];
  readings: {
    applied: number;
    direction: "up" | "down";
    error: number;
    error_percent?: number;
    error_pressure?: number;
    fraction?: number;
    ideal?: number;
    indicated: number;
    limit_high?: number;
    limit_low?: number;
    not_judged?: "stop pin";
    point: string;
    series: number;
    step: string;
    typed?: {
      applied?: string;
      before_tap?: string;
      indicated?: string;
    };
    verdict?: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  }[];
  reason?: string;
  verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
  worst?: {
    direction: "up" | "down";
    fraction: number;
    point: number;
  };
};

export type EvaluateInput = EvaluateGauge | EvaluateAir | EvaluateProgramme | EvaluateLeak | EvaluateSwitch | EvaluateBurst;

export type EvaluateLeak = {
  before?: EvaluateBefore;
  captures: {
    at?: string;
    of: "applied" | "indicated" | "before_tap" | "answer" | "settle";
    step: string;
    unit?: string;
    value: Json;
  }[];
  complete?: boolean;
  head?: { [name: string]: Json };
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode: "gauge" | "absolute";
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars?: {
      added_volume_m3?: Decimal;
      ambient_pa?: Decimal;
      ratio_of_heats?: Decimal;
      u_added_rel?: Decimal;
      u_volume_rel?: Decimal;
      volume_m3?: Decimal;
      weakest?: {
        high: Decimal;
        low?: Decimal;
        part?: string;
      };
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  method: {
    added_pressure?: Decimal;
    barometer?: "asked" | "none";
    confidence?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "probability";
    };
    drift_k?: Decimal;
    drift_pa_h?: Decimal;
    kind: "leak";
    phases: {
      agree_within?: Decimal;
      every_s?: Decimal;
      fill_s?: Decimal;
      limit_change?: Decimal;
      limit_end?: Decimal;
      limit_pa_m3_s?: Decimal;
      limit_pa_s?: Decimal;
      measure_s: Decimal;
      mode?: "gauge" | "absolute";
      name?: string;
      nozzles?: "1-6";
      pressure: Decimal;
      rate?: Decimal;
      rule?: "" | "tp-201.3";
      runs?: Decimal;
      stabilise_s?: Decimal;
      unit?: string;
    }[];
    reference_temperature_c?: Decimal;
    sccm_temperature_c?: Decimal;
    sensor_time_s?: Decimal;
    source?: string;
    temperature?: "asked" | "none";
    u_barometer_pa?: Decimal;
    u_temperature_k?: Decimal;
  };
  standard?: { [name: string]: Json };
  surroundings?: { [name: string]: Json };
  traces?: {
    barometer_pa?: Decimal[];
    contact?: string;
    p: Decimal[];
    step: string;
    t_s: Decimal[];
    temperature_c?: Decimal[];
    unit: string;
  }[];
};

export type EvaluateLeakFinding = {
  calc: string;
  complete: boolean;
  energy: {
    availability_j?: number;
    brode_j?: number;
    implosion_j?: number;
    isentropic_j?: number;
    isothermal_j?: number;
    level: "low" | "raised" | "high";
    liquid_j?: number;
    name: string;
    pcc2?: {
      distance_m?: number;
      energy_j?: number;
      floor_m?: number;
      required_m: number;
      tnt_kg?: number;
    };
    pressure_pa: number;
    tnt_kg?: number;
  }[];
  leak: {
    confidence?: number;
    decision: {
      guard_factor?: number;
      min_probability?: number;
      rule: "simple" | "guarded" | "guarded-four" | "probability" | "both sides";
      stated: boolean;
    };
    phases: {
      below_detection_limit?: boolean;
      budget?: {
        term: string;
        u: number;
      }[];
      change?: number;
      change_as_read?: number;
      correlation_factor?: number;
      critical?: number;
      decided_by?: "early" | "planned end" | "late";
      detection_limit?: number;
      dof?: number;
      durbin_watson?: number;
      end: number;
      expanded: number;
      k?: number;
      limit?: number;
      line: {
        p: number[];
        t_s: number[];
      };
      live?: {
        certain_now: boolean;
        limited_by?: "resolution" | "temperature" | "barometer" | "volume" | "noise" | "settling" | "standard";
        needed_s?: number;
        verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
      };
      mbar_l_s?: number;
      mode: "decay" | "rise";
      mol_s?: number;
      n: number;
      name: string;
      p: number[];
      phase: string;
      rate_high?: number;
      rate_low?: number;
      rate_pa_m3_s?: number;
      rate_pa_s: number;
      rate_se?: number;
      reason?: string;
      run: number;
      sccm?: number;
      start: number;
      step: string;
      t_s: number[];
      two_point?: number;
      u?: number;
      uncompensated?: number;
      unit: string;
      unit_of_limit?: "Pa/s" | "Pa·m³/s";
      verdict?: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
    }[];
    u_volume_rel?: number;
    volume_m3?: number;
  };
  missing: string[];
  reason?: string;
  results: {
    budget?: {
      contribution: number;
      term: string;
    }[];
    dof?: number;
    expanded?: number;
    k?: number;
    limit_high?: number;
    limit_low?: number;
    name: string;
    reason?: string;
    source?: string;
    u?: number;
    unit: string;
    value: number;
    verdict?: string;
  }[];
  verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  warnings: {
    code: string;
    field?: string;
    message: string;
  }[];
};

export type EvaluateOutput = EvaluateGaugeFinding | EvaluateAirFinding | EvaluateProgrammeFinding | EvaluateLeakFinding | EvaluateSwitchFinding | EvaluateBurstFinding;

export type EvaluateProgramme = {
  before?: EvaluateBefore;
  captures: {
    at?: string;
    first_at?: string;
    of: "indicated" | "applied" | "before_tap" | "answer" | "settle";
    step: string;
    unit?: string;
    value: string | number;
  }[];
  complete?: boolean;
  head?: Json;
  instrument: {
    high: Decimal;
    low: Decimal;
    mode?: string;
    unit: string;
  };
  method: {
    kind: "programme";
    mode?: "gauge" | "absolute";
    rules?: {
      high?: Decimal;
      low?: Decimal;
      name: string;
      text?: string;
      unit?: string;
      when?: string;
    }[];
    steps?: { [name: string]: Json }[];
    text?: string;
    unit?: string;
  };
  standard?: Json;
  surroundings?: Json;
  traces?: {
    barometer_pa?: Decimal[];
    contact?: string;
    p: Decimal[];
    step: string;
    t_s: Decimal[];
    temperature_c?: Decimal[];
    unit: string;
  }[];
};

export type EvaluateProgrammeFinding = {
  calc: string;
  complete: boolean;
  missing: string[];
  programme: {
    branches: {
      line: number;
      reason: string;
      step: string;
      taken: "then" | "else" | "on" | "again" | "met";
    }[];
    ended: boolean;
    mode?: string;
    reads: {
      high?: number;
      low?: number;
      name: string;
      step: string;
      t_s?: number;
      unit: string;
      value: number;
      verdict?: "pass" | "fail" | "undecided";
    }[];
    stop?: string;
    unit: string;
  };
  reason?: string;
  results: {
    condition?: "holds" | "does not hold" | "not known";
    limit_high?: number;
    limit_low?: number;
    name: string;
    reason?: string;
    source?: string;
    unit: string;
    value: number;
    verdict?: string;
  }[];
  verdict: "pass" | "fail" | "undecided";
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type EvaluateSwitch = {
  before?: EvaluateBefore;
  captures: {
    at?: string;
    of: "applied" | "indicated" | "before_tap" | "answer" | "settle";
    step: string;
    unit?: string;
    value: Json;
  }[];
  complete?: boolean;
  head?: { [name: string]: Json };
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode: "gauge" | "absolute";
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars: {
      ambient_pa?: Decimal;
      contacts: {
        acts: "rising" | "falling";
        dead_band?: {
          high: Decimal;
          low: Decimal;
        };
        name?: string;
        nominal: Decimal;
        safe?: "" | "open" | "closed";
        safety_function?: boolean;
        tolerance?: Decimal;
        tolerance_percent?: Decimal;
      }[];
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  method: {
    approach?: {
      high: Decimal;
      low: Decimal;
    } | {
      high_percent: Decimal;
      low_percent: Decimal;
    };
    bounce_window_s?: Decimal;
    cycles?: Decimal;
    debounce_samples?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    kind: "switch";
    latency_s?: Decimal;
    rate?: Decimal;
    settle_s?: Decimal;
    source?: string;
  };
  standard?: { [name: string]: Json };
  surroundings?: { [name: string]: Json };
  traces?: {
    barometer_pa?: Decimal[];
    contact?: string;
    p: Decimal[];
    step: string;
    t_s: Decimal[];
    temperature_c?: Decimal[];
    unit: string;
  }[];
};

export type EvaluateSwitchFinding = {
  calc: string;
  complete: boolean;
  locked?: boolean;
  missing: string[];
  reason?: string;
  results: {
    budget?: {
      contribution: number;
      term: string;
    }[];
    dof?: number;
    expanded?: number;
    k?: number;
    limit_high?: number;
    limit_low?: number;
    name: string;
    reason?: string;
    source?: string;
    u?: number;
    unit: string;
    value: number;
    verdict?: string;
  }[];
  switch: {
    contacts: {
      acts: "rising" | "falling";
      contact?: string;
      cycles: {
        dead_band?: number;
        reset?: number;
        reset_typed?: number;
        set?: number;
        set_typed?: number;
      }[];
      dead_band: {
        max?: number;
        mean?: number;
        min?: number;
        n: number;
        range?: number;
        sd?: number;
      };
      dead_band_high?: number;
      dead_band_low?: number;
      first_apart?: number;
      first_set?: number;
      first_sticks?: boolean;
      half_step?: number;
      limit_high: number;
      limit_low: number;
      name: string;
      nominal: number;
      p?: number[];
      reason?: string;
      reset: {
        max?: number;
        mean?: number;
        min?: number;
        n: number;
        range?: number;
        sd?: number;
      };
      safe?: "open" | "closed";
      safety_function?: boolean;
      set: {
        max?: number;
        mean?: number;
        min?: number;
        n: number;
        range?: number;
        sd?: number;
      };
      t_s?: number[];
      tolerance: number;
      transitions?: {
        bounces: number;
        half_width: number;
        index: number;
        p_mid: number;
        t_s: number;
        to: number;
      }[];
      u_sampling?: number;
      verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
    }[];
    decision: {
      guard_factor?: number;
      min_probability?: number;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
      stated: boolean;
    };
    locked?: boolean;
  };
  verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  warnings: {
    code: string;
    field?: string;
    message: string;
  }[];
};

export type ExpandAir = {
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode?: string;
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars?: {
      field_elevation_ft?: Decimal;
      field_pa?: Decimal;
      highest_ft?: Decimal;
      lowest_ft?: Decimal;
      max_cas_kt?: Decimal;
      max_rate_ft_min?: Decimal;
      max_rate_kt_min?: Decimal;
      max_rate_pa_s?: Decimal;
      subscale?: "inHg" | "hPa";
      weakest?: {
        impact_pa: Decimal;
        part?: string;
      };
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    after_effect_ft?: Decimal;
    barometric?: {
      difference_ft?: Decimal;
      inhg: Decimal;
    }[];
    barometric_ft?: Decimal;
    case_leak_ft?: Decimal;
    due_months?: Decimal;
    friction?: {
      ft: Decimal;
      tolerance_ft?: Decimal;
    }[];
    highest_ft?: Decimal;
    hysteresis_ft?: Decimal;
    kind: "altimeter";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    pitot?: "tied" | "open" | "none";
    rvsm?: {
      group: "earlier-basic" | "earlier-full" | "later-full" | "non-group-basic" | "non-group-full";
      limit_ft?: Decimal;
      points_ft: Decimal[];
      residual_ft?: Decimal;
    };
    scale?: {
      ft: Decimal;
      tolerance_ft?: Decimal;
    }[];
    settle_s?: Decimal;
    source?: string;
    tests?: ("scale" | "hysteresis" | "after-effect" | "friction" | "case-leak" | "barometric" | "rvsm")[];
  } | {
    at_ft?: Decimal;
    directions?: "up" | "up-down";
    due_months?: Decimal;
    kind: "airspeed";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    points?: {
      kt: Decimal;
      tolerance_kt?: Decimal;
    }[];
    rule?: "stated" | "greater";
    settle_s?: Decimal;
    source?: string;
    static?: "open" | "controlled";
    table?: "10-150" | "20-250" | "40-400";
  } | {
    due_months?: Decimal;
    kind: "vertical-speed";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    pitot?: "tied" | "open" | "none";
    points: {
      at_ft: Decimal;
      ft_min: Decimal;
      over_ft?: Decimal;
      tolerance_ft_min: Decimal;
    }[];
    settle_s?: Decimal;
    source?: string;
    zero_ft_min?: Decimal;
  } | {
    due_months?: Decimal;
    kind: "reporting-altitude";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    pitot?: "tied" | "open" | "none";
    points_ft: Decimal[];
    settle_s?: Decimal;
    source?: string;
    tolerance_ft?: Decimal;
  } | {
    due_months?: Decimal;
    kind: "pitot-static-leak";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    minutes?: Decimal;
    pitot?: {
      at_ft?: Decimal;
      limit_kt?: Decimal;
      start_kt?: Decimal;
    };
    pitot_line?: "tied" | "none";
    settle_s?: Decimal;
    source?: string;
    static?: {
      cabin_psi?: Decimal;
      limit_ft?: Decimal;
      start_ft: Decimal;
    };
  };
};

export type ExpandBurst = {
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode: "gauge" | "absolute";
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars: {
      ambient_pa?: Decimal;
      bulk_modulus_pa?: Decimal;
      coincident_temperature_c?: Decimal;
      full_scale?: Decimal;
      lot?: string;
      lot_size?: Decimal;
      marked: Decimal;
      material?: string;
      range_percent?: {
        high: Decimal;
        low: Decimal;
      };
      ratio_of_heats?: Decimal;
      requested?: Decimal;
      volume_m3?: Decimal;
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    arm?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    discs?: Decimal;
    drop_fraction?: Decimal;
    end_limit?: Decimal;
    hold_samples?: Decimal;
    interval_s?: Decimal;
    kind: "burst";
    rate: Decimal;
    sensor_lag_s?: Decimal;
    source?: string;
    spike_threshold?: Decimal;
    start?: Decimal;
    temperature?: "asked" | "none";
    tolerance?: Decimal;
    tolerance_percent?: Decimal;
    window_s?: Decimal;
  };
};

export type ExpandGauge = {
  air_hpa?: Decimal;
  instrument: {
    high: Decimal;
    limit?: {
      class: string | number;
      rule: "en837";
      stop_pin?: boolean;
    } | {
      grade: string;
      rule: "b40.100";
    } | {
      class: string | number;
      rule: "gb1226";
    } | {
      absolute?: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      rule: "terms";
    };
    low: Decimal;
    mode?: "gauge" | "absolute" | "differential";
    output?: {
      high: Decimal;
      law?: "linear" | "square-root";
      low: Decimal;
      meter_u?: Decimal;
      resolution?: Decimal;
      unit: "mA" | "V";
    };
    overload?: Decimal;
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  manifold?: {
    high: Decimal;
    unit: string;
  };
  method: {
    cycles?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    directions?: "up-down" | "up";
    exercise?: Decimal;
    exercise_hold_s?: Decimal;
    hold_s?: Decimal;
    hold_top_s?: Decimal;
    kind: "gauge";
    points: {
      count?: Decimal;
      percents?: Decimal[];
      values?: Decimal[];
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    rest_s?: Decimal;
    series?: {
      direction: "up" | "down";
      exercise?: Decimal;
      percents?: Decimal[];
      remount?: boolean;
    }[];
    tap?: boolean;
    temperature_coefficient_percent_per_k?: Decimal;
    way?: "applied-set" | "pointer-set";
  };
};

export type ExpandInput = ExpandGauge | ExpandAir | ExpandProgramme | ExpandLeak | ExpandSwitch | ExpandBurst;

export type ExpandLeak = {
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode: "gauge" | "absolute";
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars?: {
      added_volume_m3?: Decimal;
      ambient_pa?: Decimal;
      ratio_of_heats?: Decimal;
      u_added_rel?: Decimal;
      u_volume_rel?: Decimal;
      volume_m3?: Decimal;
      weakest?: {
        high: Decimal;
        low?: Decimal;
        part?: string;
      };
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    added_pressure?: Decimal;
    barometer?: "asked" | "none";
    confidence?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "probability";
    };
    drift_k?: Decimal;
    drift_pa_h?: Decimal;
    kind: "leak";
    phases: {
      agree_within?: Decimal;
      every_s?: Decimal;
      fill_s?: Decimal;
      limit_change?: Decimal;
      limit_end?: Decimal;
      limit_pa_m3_s?: Decimal;
      limit_pa_s?: Decimal;
      measure_s: Decimal;
      mode?: "gauge" | "absolute";
      name?: string;
      nozzles?: "1-6";
      pressure: Decimal;
      rate?: Decimal;
      rule?: "" | "tp-201.3";
      runs?: Decimal;
      stabilise_s?: Decimal;
      unit?: string;
    }[];
    reference_temperature_c?: Decimal;
    sccm_temperature_c?: Decimal;
    sensor_time_s?: Decimal;
    source?: string;
    temperature?: "asked" | "none";
    u_barometer_pa?: Decimal;
    u_temperature_k?: Decimal;
  };
};

export type ExpandOutput = {
  as_found_once?: boolean;
  bypasses?: boolean;
  calc: string;
  duration_s: number;
  screens: number;
  steps: {
    altitude_ft?: number;
    as?: "number" | "yes" | "text" | "photo";
    at_most_s?: number;
    at_standard?: string;
    band_high?: string;
    band_low?: string;
    cas_kt?: number;
    change?: string;
    change_limit?: string;
    count?: number;
    cycle?: number;
    cycle_of?: "cycle" | "disc" | "run";
    cycles?: number;
    direction?: "up" | "down";
    do: "exercise" | "vent" | "set" | "ramp" | "hold" | "settle" | "read" | "ask" | "note";
    every_s?: number;
    expected?: string;
    from?: string;
    high?: string;
    id: string;
    impact_pa?: number;
    limit?: string;
    limit_per_min?: string;
    limit_unit?: string;
    low?: string;
    make_safe?: string;
    many?: boolean;
    mode?: "gauge" | "absolute" | "differential";
    most?: string;
    most_is?: "overload";
    move?: "raise" | "lower" | "stay";
    name?: string;
    of?: string;
    optional?: boolean;
    point?: number;
    rate?: string;
    rate_per_min?: string;
    safety?: boolean;
    screen: number;
    seconds?: number;
    series?: number;
    static_pa?: number;
    target?: string;
    text?: string;
    title?: string;
    trace?: boolean;
    unit?: string;
    unjudged?: boolean;
    until?: "contact" | "drop";
    within?: string;
  }[];
};

export type ExpandProgramme = {
  instrument: {
    high: Decimal;
    low: Decimal;
    mode?: string;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    kind: "programme";
    mode?: "gauge" | "absolute";
    rules?: {
      high?: Decimal;
      low?: Decimal;
      name: string;
      text?: string;
      unit?: string;
      when?: string;
    }[];
    steps?: { [name: string]: Json }[];
    text?: string;
    unit?: string;
  };
  standard?: {
    high: Decimal;
    low: Decimal;
    max_rate?: Decimal;
    mode?: "gauge" | "absolute" | "differential";
    unit: string;
  };
};

export type ExpandSwitch = {
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode: "gauge" | "absolute";
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars: {
      ambient_pa?: Decimal;
      contacts: {
        acts: "rising" | "falling";
        dead_band?: {
          high: Decimal;
          low: Decimal;
        };
        name?: string;
        nominal: Decimal;
        safe?: "" | "open" | "closed";
        safety_function?: boolean;
        tolerance?: Decimal;
        tolerance_percent?: Decimal;
      }[];
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    approach?: {
      high: Decimal;
      low: Decimal;
    } | {
      high_percent: Decimal;
      low_percent: Decimal;
    };
    bounce_window_s?: Decimal;
    cycles?: Decimal;
    debounce_samples?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    kind: "switch";
    latency_s?: Decimal;
    rate?: Decimal;
    settle_s?: Decimal;
    source?: string;
  };
};

export type FactsInput = {
  fields: { [name: string]: Json };
};

export type FactsOutput = {
  calc: string;
  mode?: "absolute" | "differential";
  unused: string[];
  wrong?: {
    code: "long" | "months";
    field: string;
    most: number;
  };
};

export type FiguresInput = {
  instrument?: {
    high?: Decimal;
    resolution?: string;
    unit?: string;
  };
  results: {
    expanded?: Decimal;
    limit_high?: Decimal;
    limit_low?: Decimal;
    of_limit?: boolean;
    size?: Decimal;
    unit?: string;
    value: Decimal;
  }[];
};

export type FiguresOutput = {
  calc: string;
  results: {
    expanded?: string;
    value: string;
  }[];
};

export type FillInput = {
  from_pa: Decimal;
  ratio_of_heats?: Decimal;
  temperature_k: Decimal;
  to_pa: Decimal;
};

export type FillOutput = {
  after_cooling_pa: number;
  calc: string;
  temperature_k: number;
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type FittingInput = {
  kinds: string[];
  methods: {
    id: string;
    kind?: string;
    status?: string;
  }[];
};

export type FittingOutput = {
  calc: string;
  methods: string[];
};

export type FluidInput = {
  fluid: "water" | "mercury" | "nitrogen" | "air" | "helium" | "argon" | "co2";
  pressure_pa?: Decimal;
  temperature_c: Decimal;
};

export type FluidOutput = {
  calc: string;
  density_kg_m3: number;
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type FollowInput = {
  captures: {
    at?: string;
    first_at?: string;
    of: "indicated" | "applied" | "before_tap" | "answer" | "settle";
    step: string;
    unit?: string;
    value: string | number;
  }[];
  done: {
    at: string;
    step: string;
  }[];
  mode?: "gauge" | "absolute";
  programme: string | FollowStep[];
  range?: {
    high: Decimal;
    mode?: "gauge" | "absolute" | "differential";
    overload?: Decimal;
    relief?: Decimal;
    unit: string;
    weakest?: Decimal;
  };
  stopped?: string;
  traces?: {
    barometer_pa?: Decimal[];
    contact?: string;
    p: Decimal[];
    step: string;
    t_s: Decimal[];
    temperature_c?: Decimal[];
    unit: string;
  }[];
  unit?: string;
};

export type FollowOutput = {
  branches: {
    line: number;
    reason: string;
    step: string;
    taken: "then" | "else" | "on" | "again" | "met";
  }[];
  calc: string;
  current: string[];
  ended: boolean;
  finished: boolean;
  flags: {
    code: "clock" | "short" | "not_settled";
    message: string;
    step: string;
  }[];
  steps: {
    as?: "number" | "yes" | "text" | "photo";
    at_most_s?: number;
    count?: number;
    cycle?: number;
    cycle_of?: "cycle" | "disc" | "run";
    cycles?: number;
    direction?: "up" | "down";
    do: "exercise" | "vent" | "set" | "ramp" | "hold" | "settle" | "read" | "ask" | "note";
    done: boolean;
    id: string;
    line: number;
    mode?: "gauge" | "absolute" | "differential";
    most?: string;
    most_is?: "overload";
    move?: "raise" | "lower" | "stay";
    name?: string;
    of?: string;
    over?: boolean;
    rate?: string;
    screen: number;
    seconds?: number;
    settled?: boolean;
    target?: string;
    text?: string;
    trace?: true;
    unit?: string;
    until?: "contact" | "drop";
    within?: string;
  }[];
  stop?: string;
};

export type FollowStep = {
  do: "unit";
  line?: number;
  mode?: "gauge" | "absolute";
  unit: string;
} | {
  do: "set";
  line?: number;
  rate?: Decimal;
  target: Decimal;
} | {
  do: "ramp";
  else?: FollowStep[];
  line?: number;
  rate: Decimal;
  target: Decimal;
  until: "contact" | "drop";
} | {
  do: "hold";
  line?: number;
  seconds: Decimal;
} | {
  at_most: Decimal;
  do: "settle";
  else?: FollowStep[];
  line?: number;
  seconds: Decimal;
  within: Decimal;
} | {
  count?: number;
  do: "read";
  from: "gauge" | "standard" | "thermometer" | "barometer";
  line?: number;
  name: string;
} | {
  as: "number" | "yes" | "text" | "photo";
  do: "ask";
  line?: number;
  name?: string;
  text: string;
} | {
  count: number;
  do: "exercise";
  line?: number;
  target: Decimal;
} | {
  do: "vent";
  line?: number;
} | {
  count: number;
  do: "repeat";
  line?: number;
  steps: FollowStep[];
} | {
  count?: number;
  do: "repeat";
  else?: FollowStep[];
  line?: number;
  steps: FollowStep[];
  when: string;
} | {
  do: "if";
  else?: FollowStep[];
  line?: number;
  steps: FollowStep[];
  when: string;
} | {
  do: "note";
  line?: number;
  text: string;
} | {
  do: "stop";
  line?: number;
  text: string;
};

export type GaugeInput = {
  coverage?: Decimal;
  decision: {
    coverage?: Decimal;
    guard_factor?: Decimal;
    k?: Decimal;
    min_probability?: Decimal;
    needed_ratio?: Decimal;
    rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
  };
  head?: {
    air_density_kg_m3?: Decimal;
    density_half_width_kg_m3?: Decimal;
    fluid?: "air" | "nitrogen" | "helium" | "argon" | "co2" | "water" | "mercury" | "oil" | "other";
    fluid_density_kg_m3?: Decimal;
    gas?: "nitrogen" | "air" | "helium" | "argon" | "co2";
    gravity_m_s2?: Decimal;
    half_width_m?: Decimal;
    height_m?: Decimal;
    latitude_deg?: Decimal;
    mode?: "gauge" | "absolute";
    pressure_pa?: Decimal;
    standard_above_m: Decimal;
    temperature_c?: Decimal;
  };
  high: Decimal;
  limit: {
    class: string | number;
    rule: "en837";
    stop_pin?: boolean;
  } | {
    grade: string;
    rule: "b40.100";
  } | {
    class: string | number;
    rule: "gb1226";
  } | {
    absolute?: Decimal;
    of_reading_percent?: Decimal;
    of_span_percent?: Decimal;
    rule: "terms";
  };
  low: Decimal;
  method?: "applied-set" | "pointer-set";
  mode?: "gauge" | "absolute" | "differential";
  output?: {
    high: Decimal;
    law?: "linear" | "square-root";
    low: Decimal;
    meter_u?: Decimal;
    resolution?: Decimal;
    unit: "mA" | "V";
  };
  readings: {
    applied?: Decimal;
    before_tap?: Decimal;
    direction: "up" | "down";
    indicated?: Decimal;
    mounting?: Decimal;
    point: Decimal;
    remounted?: boolean;
    series: string | number;
  }[];
  repeatability_percent?: Decimal;
  resolution?: Decimal;
  standard?: {
    dof?: Decimal;
    u: Decimal;
  } | {
    certificate?: {
      points: {
        applied: Decimal;
        dof?: Decimal;
        error?: Decimal;
        expanded: Decimal;
        k?: Decimal;
      }[];
    };
    drift_per_year?: Decimal;
    ranges: {
      absolute?: Decimal;
      high: Decimal;
      k?: Decimal;
      low: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      resolution?: Decimal;
      stability_ppm?: Decimal;
    }[];
    years_since?: Decimal;
  };
  surroundings?: {
    height_m?: Decimal;
    humidity?: Decimal;
    humidity_percent?: Decimal;
    pressure_hpa?: Decimal;
    pressure_pa?: Decimal;
    reference_temperature_c?: Decimal;
    temperature_c?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
  };
  unit: string;
};

export type GaugeOutput = {
  adjustment?: {
    residual: number;
    span_factor: number;
    zero_shift: number;
  };
  air_density_kg_m3?: number;
  calc: string;
  class_met?: string;
  decision?: {
    guard_factor?: number;
    min_probability?: number;
    risk_at_limit?: number;
    rule: string;
  };
  head_correction_high_pa?: number;
  head_correction_low_pa?: number;
  head_correction_pa?: number;
  hysteresis_percent: number;
  inaccuracy_percent: {
    max: number;
    min: number;
  };
  line?: {
    best: {
      intercept: number;
      max_deviation: number;
      slope: number;
    };
    least_squares: {
      intercept: number;
      max_deviation: number;
      slope: number;
    };
    terminal: {
      intercept: number;
      max_deviation: number;
      slope: number;
    };
    zero_based: {
      intercept: number;
      max_deviation: number;
      slope: number;
    };
  };
  measured_error_percent: number;
  output_unit?: "mA" | "V";
  points: {
    applied: number;
    budget?: {
      contribution: number;
      divisor?: number;
      from?: string;
      sensitivity?: number;
      shape?: string;
      share: number;
      term: string;
      value: number;
    }[];
    dof?: number;
    dof_reading?: number;
    error: number;
    error_down?: number;
    error_percent?: number;
    error_pressure?: number;
    error_span?: number;
    error_up?: number;
    expanded?: number;
    expanded_reading?: number;
    friction?: number;
    guard?: number;
    hysteresis?: number;
    ideal?: number;
    k?: number;
    k_reading?: number;
    limit?: number;
    mean: number;
    mean_down?: number;
    mean_up?: number;
    not_judged?: "stop pin";
    point: number;
    probability?: number;
    ratio?: number;
    repeatability?: number;
    reproducibility?: number;
    risk?: number;
    typed?: number;
    u?: number;
    verdict?: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  }[];
  reason?: string;
  repeatability_percent: number;
  temperature_allowance_percent?: number;
  terms?: {
    divisor: number;
    from: string;
    shape: "normal" | "rectangular" | "triangular" | "arcsine";
    term: string;
  }[];
  unit: string;
  verdict: "pass" | "fail" | "conditional-pass" | "conditional-fail" | "undecided";
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
  worst?: {
    direction: "up" | "down";
    fraction_of_limit: number;
    point: number;
  };
  zero_deviation?: number;
};

export type GravityInput = {
  ellipsoid?: "wgs84" | "grs80";
  height_m?: Decimal;
  latitude_deg: Decimal;
};

export type GravityOutput = {
  calc: string;
  gravity_m_s2: number;
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type HeadInput = {
  air_density_kg_m3?: Decimal;
  fluid_density_kg_m3?: Decimal;
  gas?: "nitrogen" | "air" | "helium" | "argon" | "co2";
  gravity_m_s2: Decimal;
  mode: "gauge" | "absolute";
  pressure_pa?: Decimal;
  standard_above_m: Decimal;
  temperature_c?: Decimal;
};

export type HeadOutput = {
  calc: string;
  correction_pa: number;
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type IntervalInput = {
  extend_below?: Decimal;
  found_fraction?: Decimal;
  months?: Decimal;
  observed?: Decimal;
  of?: Decimal;
  passed?: Decimal;
  target?: Decimal;
};

export type IntervalOutput = {
  action?: "extend" | "keep" | "reduce";
  calc: string;
  months?: number;
  observed_high?: number;
  observed_low?: number;
  observed_low_one_sided?: number;
  reason?: "outside" | "little" | "shortest";
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type ItemInput = {
  fields: { [name: string]: Json };
  id?: string;
};

export type ItemOutput = {
  bears: {
    instrument: {
      allows_vacuum?: Json;
      high: string;
      low: string;
      max_rate?: Json;
      mode?: "gauge" | "absolute";
      unit: string;
    };
    relief?: {
      mode?: "gauge" | "absolute";
      pressure: Json;
      unit: string;
    };
    volume_m3?: Json;
    weakest?: {
      mode?: "gauge" | "absolute";
      part: string;
      pressure: Json;
      unit: string;
    };
  };
  calc: string;
  instrument: { [name: string]: Json };
  item: { [name: string]: Json };
};

export type KeptInput = {
  fields?: { [name: string]: Json };
  id?: string;
  range: { [name: string]: Json };
};

export type KeptOutput = {
  calc: string;
  item: { [name: string]: Json };
  snapshot: { [name: string]: Json };
  standard?: { [name: string]: Json };
};

export type KinInput = {
  instrument: {
    interval_months?: Json;
    limit?: Json;
  };
  instruments: {
    id: string;
    interval_months?: Json;
    limit?: Json;
  }[];
  visits: {
    instrument: string;
    verdict?: string;
  }[];
};

export type KinOutput = {
  calc: string;
  enough: boolean;
  of: number;
  passed: number;
};

export type LeakInput = {
  barometer_pa?: Decimal;
  coverage?: Decimal;
  drift_k?: Decimal;
  drift_pa_h?: Decimal;
  every_s?: Decimal;
  limit_pa_m3_s?: Decimal;
  limit_pa_s?: Decimal;
  mode: "decay" | "rise";
  planned_s?: Decimal;
  pressure_kind: "absolute" | "gauge";
  reference_temperature_k: Decimal;
  resolution_pa?: Decimal;
  sensor_time_s?: Decimal;
  skip_s?: Decimal;
  trace: {
    barometer_pa?: Decimal[];
    p_pa: Decimal[];
    t_s: Decimal[];
    temperature_c?: Decimal[];
  };
  u_volume_rel?: Decimal;
  volume_m3: Decimal;
};

export type LeakOutput = {
  bound_by?: "noise" | "volume" | "readings" | "settling" | "resolution";
  budget: {
    term: "noise" | "volume" | "temperature" | "barometer" | "resolution";
    u: number;
  }[];
  calc: string;
  certain_now?: boolean;
  correlation_factor: number;
  critical_level: number;
  decided_by?: "early" | "planned end" | "late";
  detected: boolean;
  dof?: number;
  durbin_watson: number;
  end_pa: number;
  expanded: number;
  k: number;
  mbar_l_s: number;
  mol_s: number;
  n: number;
  needed_s?: number;
  rate_high: number;
  rate_low: number;
  rate_pa_m3_s: number;
  rate_se: number;
  rate_two_point: number;
  rate_uncompensated: number;
  reason?: string;
  sccm_0c: number;
  sccm_20c: number;
  sccm_25c: number;
  slope_pa_s: number;
  slope_se_pa_s: number;
  start_pa: number;
  u: number;
  verdict?: "pass" | "fail" | "undecided";
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type LineInput = {
  at?: Decimal[];
  coverage?: Decimal;
  points: {
    r?: Decimal;
    ux?: Decimal;
    uy?: Decimal;
    x: Decimal;
    y: Decimal;
  }[];
};

export type LineOutput = {
  at: {
    expanded: number;
    u: number;
    x: number;
    y: number;
  }[];
  calc: string;
  chi_probability?: number;
  chi_squared?: number;
  correlation: number;
  dof?: number;
  intercept: number;
  k: number;
  s?: number;
  slope: number;
  u_intercept: number;
  u_slope: number;
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type LotInput = {
  marked: Decimal;
  range_percent?: {
    high: Decimal;
    low: Decimal;
  };
  requested?: Decimal;
  tolerance?: Decimal;
  tolerance_percent?: Decimal;
  unit: string;
  values: Decimal[];
};

export type LotOutput = {
  calc: string;
  cv_percent?: number;
  interval_95_95: {
    high: number;
    low: number;
  };
  interval_95_99: {
    high: number;
    low: number;
  };
  lower_95_95: number;
  lower_95_99: number;
  manufacturing_range?: {
    high: number;
    low: number;
  };
  max: number;
  mean: number;
  mean_high: number;
  mean_in_range?: boolean;
  mean_low: number;
  min: number;
  n: number;
  outside: number[];
  range: number;
  reason?: string;
  sd: number;
  tolerance: number;
  verdict: "pass" | "fail";
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type ManifoldField = {
  heads: ManifoldHead[];
  replaced: string[];
};

export type ManifoldHead = {
  author?: string;
  change?: string;
  device?: string;
  stamp?: string;
  value?: Json;
  wall?: string;
};

export type ManifoldInput = {
  visits: {
    runs: ManifoldRecord[];
    visit: ManifoldRecord;
  }[];
};

export type ManifoldOutput = {
  calc: string;
  common: boolean;
  next?: string;
  phase?: "prepare" | "ready" | "run" | "after" | "done";
  visits: {
    id: string;
    phase: "prepare" | "ready" | "run" | "after" | "done";
  }[];
  with: string[];
};

export type ManifoldRecord = {
  fields: { [name: string]: ManifoldField };
  id: string;
  kind: string;
  parent?: string;
  site?: string;
};

export type MethodsDefinition = {
  cycles?: Decimal;
  decision?: {
    coverage?: Decimal;
    guard_factor?: Decimal;
    k?: Decimal;
    min_probability?: Decimal;
    needed_ratio?: Decimal;
    rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
  };
  directions?: "up-down" | "up";
  exercise?: Decimal;
  exercise_hold_s?: Decimal;
  hold_s?: Decimal;
  hold_top_s?: Decimal;
  kind: "gauge";
  points: {
    count?: Decimal;
    percents?: Decimal[];
    values?: Decimal[];
  };
  reference_temperature_c?: Decimal;
  repeatability_percent?: Decimal;
  rest_s?: Decimal;
  series?: {
    direction: "up" | "down";
    exercise?: Decimal;
    percents?: Decimal[];
    remount?: boolean;
  }[];
  tap?: boolean;
  temperature_coefficient_percent_per_k?: Decimal;
  way?: "applied-set" | "pointer-set";
};

export type MethodsInput = {
  list?: boolean;
  name?: string;
};

export type MethodsOutput = {
  calc: string;
  methods: {
    definition: MethodsDefinition;
    expanded_uncertainty: string;
    name: string;
    notes: string[];
    title: string;
  }[];
};

export type ModelInput = {
  correlations?: {
    a: string;
    b: string;
    r: Decimal;
  }[];
  coverage?: Decimal;
  formula: string;
  quantities: {
    dof?: Decimal;
    expanded?: Decimal;
    half_width?: Decimal;
    k?: Decimal;
    name: string;
    shape?: "normal" | "rectangular" | "triangular" | "arcsine";
    u?: Decimal;
    value: Decimal;
  }[];
  trials?: {
    digits?: number;
    seed: number;
  };
};

export type ModelOutput = {
  calc: string;
  dof?: number;
  dof_used?: number;
  expanded: number;
  k: number;
  terms: {
    contribution: number;
    name: string;
    sensitivity: number;
    share: number;
    u: number;
    value: number;
  }[];
  trials?: {
    agrees: boolean;
    count: number;
    high: number;
    low: number;
    mean: number;
    sd: number;
    shortest_high: number;
    shortest_low: number;
    stable: boolean;
    tolerance: number;
  };
  u: number;
  value: number;
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type ObservationsInput = {
  series: {
    name: string;
    values: Decimal[];
  }[];
};

export type ObservationsOutput = {
  calc: string;
  correlations: {
    a: string;
    b: string;
    r: number;
  }[];
  series: {
    dof: number;
    mean: number;
    n: number;
    name: string;
    s: number;
    u: number;
  }[];
};

export type PastInput = {
  visits: {
    adjusted?: boolean;
    draft?: boolean;
    id?: string;
    signed?: boolean;
    started: string;
    summary?: { [name: string]: Json };
  }[];
};

export type PastOutput = {
  calc: string;
  failed?: {
    at: string;
    visit: string;
  };
  found_fraction?: number;
  history: {
    adjusted?: boolean;
    date: string;
    errors: {
      error: number;
      limit?: number;
      point: string;
    }[];
    left?: {
      error: number;
      limit?: number;
      point: string;
    }[];
  }[];
  shares: {
    fraction: number;
    of_limit: string;
    started: string;
    verdict: string;
  }[];
};

export type PitotStaticLeakInput = {
  cabin_psi?: Decimal;
  end?: Decimal;
  kind: "static";
  minutes?: Decimal;
  pressure_change_pa?: Decimal;
  start: Decimal;
} | {
  end?: Decimal;
  kind: "pitot";
  minutes?: Decimal;
  pressure_change_pa?: Decimal;
  start: Decimal;
};

export type PitotStaticLeakOutput = {
  calc: string;
  end: number;
  equivalent_altitude_ft?: number;
  limit: number;
  loss_ft?: number;
  loss_kt?: number;
  verdict: "pass" | "fail";
  warnings?: {
    code: string;
    field: string;
    message: string;
  }[];
};

export type PlaceInput = {
  height_m?: Decimal;
  humidity_percent?: Decimal;
  pressure_hpa?: Decimal;
  temperature_c?: Decimal;
};

export type PlaceOutput = {
  calc: string;
  findings: {
    field: "temperature_c" | "pressure_hpa" | "humidity_percent";
    message: string;
  }[];
};

export type PlanInput = {
  ambient_pa?: Decimal;
  expansion?: {
    steps: { [name: string]: Json }[];
  };
  hysteresis?: boolean;
  instrument?: {
    allows_vacuum?: boolean;
    high: Decimal;
    low: Decimal;
    max_rate?: Decimal;
    mode?: "gauge" | "absolute" | "differential";
    unit?: string;
  };
  leak?: {
    factor?: Decimal;
    interval_s: Decimal;
    limit_pa_m3_s: Decimal;
    sigma_pa: Decimal;
  };
  mode?: "gauge" | "absolute";
  only?: "findings";
  programme?: string | PlanStep[];
  relief?: Decimal | {
    mode?: "gauge" | "absolute" | "differential";
    pressure: Decimal;
    unit?: string;
  };
  standard?: {
    high: Decimal;
    low: Decimal;
    max_rate?: Decimal;
    mode?: "gauge" | "absolute" | "differential";
    unit?: string;
  };
  start?: "vented" | "unknown";
  switch?: {
    interval_s?: Decimal;
    nominal: Decimal;
    tolerance?: Decimal;
  };
  unit?: string;
  volume_m3?: Decimal;
  weakest?: {
    mode?: "gauge" | "absolute" | "differential";
    part: string;
    pressure: Decimal;
    unit?: string;
  };
};

export type PlanOutput = {
  calc: string;
  duration_partial?: true;
  duration_s?: number;
  findings: {
    code: string;
    level: "error" | "warning";
    line: number;
    message: string;
  }[];
  limits?: {
    instrument?: {
      high: Decimal;
      low: Decimal;
      max_rate?: Decimal;
    };
    max_rate?: Decimal;
    relief?: Decimal;
    standard?: {
      high: Decimal;
      low: Decimal;
      max_rate?: Decimal;
    };
    weakest?: Decimal;
  };
  steps?: PlanStep[];
  text?: string;
};

export type PlanStep = {
  do: "unit";
  line?: number;
  mode?: "gauge" | "absolute";
  unit: string;
} | {
  do: "set";
  line?: number;
  rate?: Decimal;
  target: Decimal;
} | {
  do: "ramp";
  else?: PlanStep[];
  line?: number;
  rate: Decimal;
  target: Decimal;
  until: "contact" | "drop";
} | {
  do: "hold";
  line?: number;
  seconds: Decimal;
} | {
  at_most: Decimal;
  do: "settle";
  else?: PlanStep[];
  line?: number;
  seconds: Decimal;
  within: Decimal;
} | {
  count?: number;
  do: "read";
  from: "gauge" | "standard" | "thermometer" | "barometer";
  line?: number;
  name: string;
} | {
  as: "number" | "yes" | "text" | "photo";
  do: "ask";
  line?: number;
  name?: string;
  text: string;
} | {
  count: number;
  do: "exercise";
  line?: number;
  target: Decimal;
} | {
  do: "vent";
  line?: number;
} | {
  count: number;
  do: "repeat";
  line?: number;
  steps: PlanStep[];
} | {
  count?: number;
  do: "repeat";
  else?: PlanStep[];
  line?: number;
  steps: PlanStep[];
  when: string;
} | {
  do: "if";
  else?: PlanStep[];
  line?: number;
  steps: PlanStep[];
  when: string;
} | {
  do: "note";
  line?: number;
  text: string;
} | {
  do: "stop";
  line?: number;
  text: string;
};

export type PointsInput = {
  approach?: "up" | "down";
  count?: Decimal;
  cycles?: Decimal;
  directions?: "up" | "up-down";
  high: Decimal;
  low: Decimal;
  percents?: Decimal[];
  unit: string;
  values?: Decimal[];
};

export type PointsOutput = {
  calc: string;
  points: string[];
  steps: {
    direction: "up" | "down";
    point: number;
    series: number;
    target: string;
  }[];
};

export type PreviewInput = {
  air_hpa?: Decimal;
  instrument: { [name: string]: Json };
  label?: "as found" | "as left" | "repeat";
  method: { [name: string]: Json };
};

export type PreviewOutput = {
  as_found_once?: boolean;
  bypasses?: boolean;
  calc: string;
  duration_s: number;
  minutes: number;
  readings: number;
  screens: number;
  steps: { [name: string]: Json }[];
};

export type ProfileInput = {
  field_pa?: Decimal;
  from: {
    altitude_ft?: Decimal;
    altitude_m?: Decimal;
    cas_kt?: Decimal;
    impact_pa?: Decimal;
    mach?: Decimal;
    static_pa?: Decimal;
    total_pa?: Decimal;
  };
  interval_s: Decimal;
  limits?: {
    max_altitude_ft?: Decimal;
    max_cas_kt?: Decimal;
    max_mach?: Decimal;
    min_altitude_ft?: Decimal;
  };
  max_cas_rate_kt_min: Decimal;
  max_climb_ft_min: Decimal;
  max_descent_ft_min?: Decimal;
  to?: {
    altitude_ft?: Decimal;
    altitude_m?: Decimal;
    cas_kt?: Decimal;
    impact_pa?: Decimal;
    mach?: Decimal;
    static_pa?: Decimal;
    total_pa?: Decimal;
  };
};

export type ProfileOutput = {
  calc: string;
  duration_s: number;
  points: {
    altitude_ft: number;
    cas_kt: number;
    impact_pa: number;
    impact_rate_pa_s: number;
    static_pa: number;
    static_rate_pa_s: number;
    t_s: number;
    total_pa: number;
  }[];
  route: "straight" | "bent" | "in-turn";
  violations: {
    code: "max_altitude_ft" | "min_altitude_ft" | "max_cas_kt" | "max_mach";
    from_s: number;
    limit: number;
    until_s: number;
    worst: number;
  }[];
};

export type QuantileInput = {
  distribution: "t" | "normal";
  dof?: Decimal;
  p: Decimal;
};

export type QuantileOutput = {
  calc: string;
  value: number;
};

export type RehearseInput = {
  max_rate?: Decimal;
  programme: string | RehearseStep[];
  seed: number;
};

export type RehearseOutput = {
  branches: {
    line: number;
    reason: string;
    step: string;
    taken: "then" | "else" | "on" | "again" | "met";
  }[];
  calc: string;
  finished: boolean;
  p: number[];
  rows: {
    do: "exercise" | "vent" | "set" | "ramp" | "hold" | "settle" | "read" | "ask" | "note";
    id: string;
    line: number;
    name?: string;
    target?: string;
    text?: string;
    unit?: string;
    value?: string;
  }[];
  stop?: string;
  t: number[];
};

export type RehearseStep = {
  do: "unit";
  line?: number;
  mode?: "gauge" | "absolute";
  unit: string;
} | {
  do: "set";
  line?: number;
  rate?: Decimal;
  target: Decimal;
} | {
  do: "ramp";
  else?: RehearseStep[];
  line?: number;
  rate: Decimal;
  target: Decimal;
  until: "contact" | "drop";
} | {
  do: "hold";
  line?: number;
  seconds: Decimal;
} | {
  at_most: Decimal;
  do: "settle";
  else?: RehearseStep[];
  line?: number;
  seconds: Decimal;
  within: Decimal;
} | {
  count?: number;
  do: "read";
  from: "gauge" | "standard" | "thermometer" | "barometer";
  line?: number;
  name: string;
} | {
  as: "number" | "yes" | "text" | "photo";
  do: "ask";
  line?: number;
  name?: string;
  text: string;
} | {
  count: number;
  do: "exercise";
  line?: number;
  target: Decimal;
} | {
  do: "vent";
  line?: number;
} | {
  count: number;
  do: "repeat";
  line?: number;
  steps: RehearseStep[];
} | {
  count?: number;
  do: "repeat";
  else?: RehearseStep[];
  line?: number;
  steps: RehearseStep[];
  when: string;
} | {
  do: "if";
  else?: RehearseStep[];
  line?: number;
  steps: RehearseStep[];
  when: string;
} | {
  do: "note";
  line?: number;
  text: string;
} | {
  do: "stop";
  line?: number;
  text: string;
};

export type ReverseBefore = {
  condition?: "good" | "dirty" | "damaged";
  identity?: "same" | "register" | "exchanged" | "wrong";
  safe?: "yes" | "no";
  standard?: "clean" | "not_clean" | "oil";
};

export type ReverseInput = {
  affected: {
    as?: "standard" | "meter" | "barometer";
    id?: string;
    sheet: ReverseSheet;
  }[];
  after: ReverseStandard;
  before: ReverseStandard;
  unit: string;
};

export type ReverseOutput = {
  calc: string;
  changed: number;
  faults: number;
  sheets: {
    after?: {
      of_limit?: string;
      reason?: string;
      verdict: string;
      worst_fraction?: number;
    };
    before?: {
      of_limit?: string;
      reason?: string;
      verdict: string;
      worst_fraction?: number;
    };
    changed?: boolean;
    error?: {
      code: string;
      field: string;
      message: string;
    };
    id?: string;
    readings?: {
      after: string;
      before: string;
      step: string;
    }[];
    taken?: {
      beyond: number;
      out: number;
      readings: number;
    };
  }[];
};

export type ReverseSheet = {
  barometer?: ReverseStandard;
  before?: ReverseBefore;
  captures: {
    at?: string;
    of: "applied" | "indicated" | "before_tap";
    step: string;
    unit: string;
    value: Decimal;
  }[];
  complete?: boolean;
  head?: {
    air_density_kg_m3?: Decimal;
    density_half_width_kg_m3?: Decimal;
    fluid?: "air" | "nitrogen" | "helium" | "argon" | "co2" | "water" | "mercury" | "oil" | "other";
    fluid_density_kg_m3?: Decimal;
    gas?: "nitrogen" | "air" | "helium" | "argon" | "co2";
    gravity_m_s2?: Decimal;
    half_width_m?: Decimal;
    height_m?: Decimal;
    latitude_deg?: Decimal;
    mode?: "gauge" | "absolute";
    pressure_pa?: Decimal;
    standard_above_m: Decimal;
    temperature_c?: Decimal;
  };
  instrument: {
    high: Decimal;
    limit?: {
      class: string | number;
      rule: "en837";
      stop_pin?: boolean;
    } | {
      grade: string;
      rule: "b40.100";
    } | {
      class: string | number;
      rule: "gb1226";
    } | {
      absolute?: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      rule: "terms";
    };
    low: Decimal;
    mode?: "gauge" | "absolute" | "differential";
    output?: {
      high: Decimal;
      law?: "linear" | "square-root";
      low: Decimal;
      meter_u?: Decimal;
      resolution?: Decimal;
      unit: "mA" | "V";
    };
    overload?: Decimal;
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  meter?: ReverseStandard;
  method: {
    cycles?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    directions?: "up-down" | "up";
    exercise?: Decimal;
    exercise_hold_s?: Decimal;
    hold_s?: Decimal;
    hold_top_s?: Decimal;
    kind: "gauge";
    points: {
      count?: Decimal;
      percents?: Decimal[];
      values?: Decimal[];
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    rest_s?: Decimal;
    series?: {
      direction: "up" | "down";
      exercise?: Decimal;
      percents?: Decimal[];
      remount?: boolean;
    }[];
    tap?: boolean;
    temperature_coefficient_percent_per_k?: Decimal;
    way?: "applied-set" | "pointer-set";
  };
  standard?: {
    dof?: Decimal;
    u: Decimal;
  } | {
    certificate?: {
      points: {
        applied: Decimal;
        dof?: Decimal;
        error?: Decimal;
        expanded: Decimal;
        k?: Decimal;
      }[];
    };
    drift_per_year?: Decimal;
    ranges: {
      absolute?: Decimal;
      high: Decimal;
      k?: Decimal;
      low: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      resolution?: Decimal;
      stability_ppm?: Decimal;
    }[];
    years_since?: Decimal;
  };
  surroundings?: {
    height_m?: Decimal;
    humidity?: Decimal;
    humidity_percent?: Decimal;
    pressure_hpa?: Decimal;
    pressure_pa?: Decimal;
    reference_temperature_c?: Decimal;
    temperature_c?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
  };
};

export type ReverseStandard = {
  dof?: Decimal;
  u: Decimal;
} | {
  certificate?: {
    points: {
      applied: Decimal;
      dof?: Decimal;
      error?: Decimal;
      expanded: Decimal;
      k?: Decimal;
    }[];
  };
  drift_per_year?: Decimal;
  ranges: {
    absolute?: Decimal;
    high: Decimal;
    k?: Decimal;
    low: Decimal;
    of_reading_percent?: Decimal;
    of_span_percent?: Decimal;
    resolution?: Decimal;
    stability_ppm?: Decimal;
  }[];
  years_since?: Decimal;
};

export type RiskInput = {
  guard_factor?: Decimal;
  in_tolerance: Decimal;
  ratio: Decimal;
  rule?: "managed";
};

export type RiskOutput = {
  acceptance_fraction: number;
  calc: string;
  false_accept: number;
  false_reject: number;
};

export type RoundInput = {
  round: {
    date?: string;
    id?: string;
    person?: string;
    stops?: string[];
    taken_back?: boolean;
    title?: string;
  };
  rounds?: {
    date?: string;
    id?: string;
    person?: string;
    stops?: string[];
    taken_back?: boolean;
    title?: string;
  }[];
  sites?: string[];
  stops: {
    contested?: string[];
    due?: string;
    id: string;
    method?: boolean;
    site?: string;
    status?: string;
  }[];
};

export type RoundOutput = {
  calc: string;
  stops: {
    id: string;
    warnings: {
      code: "elsewhere" | "early" | "contested" | "service" | "site";
      date?: string;
      fields?: string;
      status?: string;
      title?: string;
    }[];
  }[];
  wrong: {
    code: "missing" | "long" | "many" | "methods";
    field: "date" | "person" | "title" | "stops";
    most?: number;
  }[];
};

export type ServesAir = {
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode?: string;
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars?: {
      field_elevation_ft?: Decimal;
      field_pa?: Decimal;
      highest_ft?: Decimal;
      lowest_ft?: Decimal;
      max_cas_kt?: Decimal;
      max_rate_ft_min?: Decimal;
      max_rate_kt_min?: Decimal;
      max_rate_pa_s?: Decimal;
      subscale?: "inHg" | "hPa";
      weakest?: {
        impact_pa: Decimal;
        part?: string;
      };
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    after_effect_ft?: Decimal;
    barometric?: {
      difference_ft?: Decimal;
      inhg: Decimal;
    }[];
    barometric_ft?: Decimal;
    case_leak_ft?: Decimal;
    due_months?: Decimal;
    friction?: {
      ft: Decimal;
      tolerance_ft?: Decimal;
    }[];
    highest_ft?: Decimal;
    hysteresis_ft?: Decimal;
    kind: "altimeter";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    pitot?: "tied" | "open" | "none";
    rvsm?: {
      group: "earlier-basic" | "earlier-full" | "later-full" | "non-group-basic" | "non-group-full";
      limit_ft?: Decimal;
      points_ft: Decimal[];
      residual_ft?: Decimal;
    };
    scale?: {
      ft: Decimal;
      tolerance_ft?: Decimal;
    }[];
    settle_s?: Decimal;
    source?: string;
    tests?: ("scale" | "hysteresis" | "after-effect" | "friction" | "case-leak" | "barometric" | "rvsm")[];
  } | {
    at_ft?: Decimal;
    directions?: "up" | "up-down";
    due_months?: Decimal;
    kind: "airspeed";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    points?: {
      kt: Decimal;
      tolerance_kt?: Decimal;
    }[];
    rule?: "stated" | "greater";
    settle_s?: Decimal;
    source?: string;
    static?: "open" | "controlled";
    table?: "10-150" | "20-250" | "40-400";
  } | {
    due_months?: Decimal;
    kind: "vertical-speed";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    pitot?: "tied" | "open" | "none";
    points: {
      at_ft: Decimal;
      ft_min: Decimal;
      over_ft?: Decimal;
      tolerance_ft_min: Decimal;
    }[];
    settle_s?: Decimal;
    source?: string;
    zero_ft_min?: Decimal;
  } | {
    due_months?: Decimal;
    kind: "reporting-altitude";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    pitot?: "tied" | "open" | "none";
    points_ft: Decimal[];
    settle_s?: Decimal;
    source?: string;
    tolerance_ft?: Decimal;
  } | {
    due_months?: Decimal;
    kind: "pitot-static-leak";
    limits_read?: {
      by: string;
      clause: string;
    };
    max_rate_ft_min?: Decimal;
    max_rate_kt_min?: Decimal;
    minutes?: Decimal;
    pitot?: {
      at_ft?: Decimal;
      limit_kt?: Decimal;
      start_kt?: Decimal;
    };
    pitot_line?: "tied" | "none";
    settle_s?: Decimal;
    source?: string;
    static?: {
      cabin_psi?: Decimal;
      limit_ft?: Decimal;
      start_ft: Decimal;
    };
  };
  range: ServesRange;
  years_since?: Decimal;
};

export type ServesBurst = {
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode: "gauge" | "absolute";
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars: {
      ambient_pa?: Decimal;
      bulk_modulus_pa?: Decimal;
      coincident_temperature_c?: Decimal;
      full_scale?: Decimal;
      lot?: string;
      lot_size?: Decimal;
      marked: Decimal;
      material?: string;
      range_percent?: {
        high: Decimal;
        low: Decimal;
      };
      ratio_of_heats?: Decimal;
      requested?: Decimal;
      volume_m3?: Decimal;
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    arm?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    discs?: Decimal;
    drop_fraction?: Decimal;
    end_limit?: Decimal;
    hold_samples?: Decimal;
    interval_s?: Decimal;
    kind: "burst";
    rate: Decimal;
    sensor_lag_s?: Decimal;
    source?: string;
    spike_threshold?: Decimal;
    start?: Decimal;
    temperature?: "asked" | "none";
    tolerance?: Decimal;
    tolerance_percent?: Decimal;
    window_s?: Decimal;
  };
  range: ServesRange;
  years_since?: Decimal;
};

export type ServesGauge = {
  air_hpa?: Decimal;
  barometer?: boolean;
  instrument: {
    high: Decimal;
    limit?: {
      class: string | number;
      rule: "en837";
      stop_pin?: boolean;
    } | {
      grade: string;
      rule: "b40.100";
    } | {
      class: string | number;
      rule: "gb1226";
    } | {
      absolute?: Decimal;
      of_reading_percent?: Decimal;
      of_span_percent?: Decimal;
      rule: "terms";
    };
    low: Decimal;
    mode?: "gauge" | "absolute" | "differential";
    output?: {
      high: Decimal;
      law?: "linear" | "square-root";
      low: Decimal;
      meter_u?: Decimal;
      resolution?: Decimal;
      unit: "mA" | "V";
    };
    overload?: Decimal;
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  meter?: boolean;
  method: {
    cycles?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    directions?: "up-down" | "up";
    exercise?: Decimal;
    exercise_hold_s?: Decimal;
    hold_s?: Decimal;
    hold_top_s?: Decimal;
    kind: "gauge";
    points: {
      count?: Decimal;
      percents?: Decimal[];
      values?: Decimal[];
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    rest_s?: Decimal;
    series?: {
      direction: "up" | "down";
      exercise?: Decimal;
      percents?: Decimal[];
      remount?: boolean;
    }[];
    tap?: boolean;
    temperature_coefficient_percent_per_k?: Decimal;
    way?: "applied-set" | "pointer-set";
  };
  range: ServesRange;
  years_since?: Decimal;
};

export type ServesInput = ServesGauge | ServesAir | ServesProgramme | ServesLeak | ServesSwitch | ServesBurst;

export type ServesLeak = {
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode: "gauge" | "absolute";
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars?: {
      added_volume_m3?: Decimal;
      ambient_pa?: Decimal;
      ratio_of_heats?: Decimal;
      u_added_rel?: Decimal;
      u_volume_rel?: Decimal;
      volume_m3?: Decimal;
      weakest?: {
        high: Decimal;
        low?: Decimal;
        part?: string;
      };
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    added_pressure?: Decimal;
    barometer?: "asked" | "none";
    confidence?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "probability";
    };
    drift_k?: Decimal;
    drift_pa_h?: Decimal;
    kind: "leak";
    phases: {
      agree_within?: Decimal;
      every_s?: Decimal;
      fill_s?: Decimal;
      limit_change?: Decimal;
      limit_end?: Decimal;
      limit_pa_m3_s?: Decimal;
      limit_pa_s?: Decimal;
      measure_s: Decimal;
      mode?: "gauge" | "absolute";
      name?: string;
      nozzles?: "1-6";
      pressure: Decimal;
      rate?: Decimal;
      rule?: "" | "tp-201.3";
      runs?: Decimal;
      stabilise_s?: Decimal;
      unit?: string;
    }[];
    reference_temperature_c?: Decimal;
    sccm_temperature_c?: Decimal;
    sensor_time_s?: Decimal;
    source?: string;
    temperature?: "asked" | "none";
    u_barometer_pa?: Decimal;
    u_temperature_k?: Decimal;
  };
  range: ServesRange;
  years_since?: Decimal;
};

export type ServesOutput = {
  calc: string;
  fit?: number;
  high?: number;
  low?: number;
  measures: "pressure" | "length" | "speed" | "current" | "voltage";
  needed_ratio: number;
  objections: {
    code: "kind" | "mode" | "low" | "high" | "no_specification" | "no_statement" | "ratio" | "barometer";
    point?: string;
    text?: string;
  }[];
  range?: { [name: string]: Json };
  serves: boolean;
  worst?: {
    point: string;
    ratio: number;
  };
};

export type ServesProgramme = {
  instrument: {
    high: Decimal;
    low: Decimal;
    mode?: string;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    kind: "programme";
    mode?: "gauge" | "absolute";
    rules?: {
      high?: Decimal;
      low?: Decimal;
      name: string;
      text?: string;
      unit?: string;
      when?: string;
    }[];
    steps?: { [name: string]: Json }[];
    text?: string;
    unit?: string;
  };
  range: ServesRange;
  years_since?: Decimal;
};

export type ServesRange = {
  absolute?: Decimal;
  drift_per_year?: Decimal;
  high?: Decimal;
  k?: Decimal;
  low?: Decimal;
  max_rate?: Decimal;
  mode?: "" | "gauge" | "absolute" | "differential";
  of_reading_percent?: Decimal;
  of_span_percent?: Decimal;
  points?: {
    applied: Decimal;
    dof?: Decimal;
    error?: Decimal;
    expanded: Decimal;
    k?: Decimal;
  }[];
  resolution?: Decimal;
  stability_ppm?: Decimal;
  unit: string;
};

export type ServesSwitch = {
  instrument: {
    high: Decimal;
    limit?: { [name: string]: Json };
    low: Decimal;
    mode: "gauge" | "absolute";
    output?: { [name: string]: Json };
    overload?: Decimal;
    particulars: {
      ambient_pa?: Decimal;
      contacts: {
        acts: "rising" | "falling";
        dead_band?: {
          high: Decimal;
          low: Decimal;
        };
        name?: string;
        nominal: Decimal;
        safe?: "" | "open" | "closed";
        safety_function?: boolean;
        tolerance?: Decimal;
        tolerance_percent?: Decimal;
      }[];
    };
    reference_temperature_c?: Decimal;
    repeatability_percent?: Decimal;
    resolution?: Decimal;
    temperature_coefficient_percent_per_k?: Decimal;
    unit: string;
  };
  label?: "as found" | "as left" | "repeat";
  method: {
    approach?: {
      high: Decimal;
      low: Decimal;
    } | {
      high_percent: Decimal;
      low_percent: Decimal;
    };
    bounce_window_s?: Decimal;
    cycles?: Decimal;
    debounce_samples?: Decimal;
    decision?: {
      coverage?: Decimal;
      guard_factor?: Decimal;
      k?: Decimal;
      min_probability?: Decimal;
      needed_ratio?: Decimal;
      rule: "simple" | "guarded" | "guarded-four" | "managed" | "probability";
    };
    kind: "switch";
    latency_s?: Decimal;
    rate?: Decimal;
    settle_s?: Decimal;
    source?: string;
  };
  range: ServesRange;
  years_since?: Decimal;
};

export type SettleInput = {
  fraction: Decimal;
  limit_pa_m3_s: Decimal;
  pressure_pa: Decimal;
  step_k: Decimal;
  tau_s: Decimal;
  temperature_k: Decimal;
  volume_m3: Decimal;
};

export type SettleOutput = {
  calc: string;
  wait_s: number;
};

export type StandardInput = {
  dof?: Decimal;
  in_tolerance?: Decimal;
  limit?: Decimal;
  limits?: Decimal[];
  max_false_accept?: Decimal;
  needed_ratio?: Decimal;
  points: Decimal[];
  u: Decimal;
  unit: string;
} | {
  certificate?: {
    points: {
      applied: Decimal;
      dof?: Decimal;
      error?: Decimal;
      expanded: Decimal;
      k?: Decimal;
    }[];
  };
  drift_per_year?: Decimal;
  in_tolerance?: Decimal;
  limit?: Decimal;
  limits?: Decimal[];
  max_false_accept?: Decimal;
  needed_ratio?: Decimal;
  points: Decimal[];
  ranges: {
    absolute?: Decimal;
    high: Decimal;
    k?: Decimal;
    low: Decimal;
    of_reading_percent?: Decimal;
    of_span_percent?: Decimal;
    resolution?: Decimal;
    stability_ppm?: Decimal;
  }[];
  unit: string;
  years_since?: Decimal;
};

export type StandardOutput = {
  calc: string;
  enough: boolean;
  points: {
    correction?: number;
    enough: boolean;
    expanded?: number;
    point: number;
    range?: number;
    ratio?: number;
    reason?: string;
    u?: number;
  }[];
  range?: number;
};

export type StatedInput = {
  points: { [name: string]: Json }[];
};

export type StatedOutput = {
  calc: string;
  points: {
    applied: string;
    error: string;
    expanded: string;
    k: string;
  }[];
};

export type SuitableInput = {
  instruments: {
    id: string;
    instrument: { [name: string]: Json };
    status?: string;
  }[];
  method: { [name: string]: Json };
};

export type SuitableOutput = {
  calc: string;
  refused: {
    id: string;
    status?: string;
    text?: string;
  }[];
  suitable: string[];
};

export type SwitchInput = {
  acts: "rising" | "falling";
  bounce_window_s?: Decimal;
  cycles?: {
    reset: Decimal;
    set: Decimal;
  }[];
  dead_band?: {
    high: Decimal;
    low: Decimal;
  };
  debounce_samples?: Decimal;
  latency_s?: Decimal;
  nominal: Decimal;
  ramp_rate_per_s?: Decimal;
  rate_limit_fraction_per_s?: Decimal;
  tolerance: Decimal;
  trace?: {
    contact: string;
    p: Decimal[];
    t_s: Decimal[];
  };
  unit: string;
};

export type SwitchOutput = {
  calc: string;
  dead_band: {
    max?: number;
    mean?: number;
    min?: number;
    n: number;
    range?: number;
    sd?: number;
  };
  dead_band_each?: number[];
  first_set?: number;
  half_step?: number;
  rate_ok?: boolean;
  reason?: "set point" | "dead band" | "no actuation" | "no reset" | "actuated at start" | "sampling";
  reset: {
    max?: number;
    mean?: number;
    min?: number;
    n: number;
    range?: number;
    sd?: number;
  };
  reset_corrected?: number[];
  set: {
    max?: number;
    mean?: number;
    min?: number;
    n: number;
    range?: number;
    sd?: number;
  };
  set_corrected?: number[];
  transitions?: Json[];
  u_sampling?: number;
  unit: string;
  verdict: "pass" | "fail" | "undecided";
};

export type TogetherInput = {
  instruments: {
    begun?: boolean;
    cautions?: string[];
    high: Decimal;
    id: string;
    kind: string;
    medium?: string;
    mode?: "gauge" | "absolute" | "differential";
    since?: boolean;
    steps: { [name: string]: Json }[];
    unit: string;
    way?: string;
  }[];
};

export type TogetherOutput = {
  calc: string;
  high?: string;
  unit?: string;
  wrong: {
    code: "few" | "many" | "twice" | "begun" | "since" | "kind" | "pointer_set" | "remount" | "mode" | "oxygen" | "points" | "over";
    id?: string;
    with?: string;
  }[];
};

export type ToleranceFactorInput = {
  confidence: Decimal;
  coverage: Decimal;
  n: Decimal;
  sided: 1 | 2;
};

export type ToleranceFactorOutput = {
  calc: string;
  howe?: number;
  k: number;
};

export type TraceInput = {
  do: "look";
  last?: boolean;
  text: string;
} | {
  do: "read";
  last?: boolean;
  reading: TraceReading;
  state?: TraceState;
  text: string;
} | {
  do: "thin";
  most: Decimal;
  samples: TraceSamples;
  to?: "extremes" | "mean";
};

export type TraceOutput = {
  bom?: boolean;
  calc: string;
  columns: {
    column: number;
    empty: number;
    guess: "" | "time" | "date" | "index" | "pressure" | "temperature" | "barometer" | "contact";
    high?: Decimal;
    kind: "numbers" | "words" | "clocks" | "dates" | "days" | "nothing";
    low?: Decimal;
    name: string;
    samples: string[];
    unit: string;
    words: string[];
  }[];
  comment?: string;
  comments?: string[];
  decimal: "." | ",";
  encoding?: "utf-8" | "latin-1";
  first_line: number;
  header_line?: number;
  row_bytes?: Decimal;
  rows?: number;
  separator: string;
  time: {
    column?: number;
    date_column?: number;
    form: "number" | "epoch" | "index" | "clock" | "date";
    interval_s?: Decimal;
    order?: "" | "ymd" | "dmy" | "mdy";
    unit?: string;
    zone?: "" | "none" | "given";
  };
  unit_line?: number;
  warnings: {
    code: string;
    field: string;
    message: string;
  }[];
} | {
  calc: string;
  faults: {
    cell: string;
    code: "time_backwards" | "time_twice" | "time_form" | "mixed_zone" | "not_a_number" | "short_row" | "quote" | "contact_word" | "below_absolute_zero" | "unit_implausible" | "contact_never_changes" | "no_rows";
    line: number;
    message: string;
  }[];
  gaps: {
    bridged_s?: Decimal;
    from_s: Decimal;
    line: number;
    to_s: Decimal;
  }[];
  samples: TraceSamples;
  start?: string;
  state: TraceState;
  used: number;
} | {
  block: number;
  calc: string;
  interval_s: Decimal;
  samples: TraceSamples;
};

export type TraceReading = {
  barometer?: {
    column: Decimal;
    unit: string;
  };
  comment?: string;
  contact?: {
    above?: Decimal;
    actuated?: string[];
    column: Decimal;
    rest?: string[];
  };
  decimal?: "." | ",";
  first_line?: Decimal;
  gap_s?: Decimal;
  p: {
    column: Decimal;
    mode: "gauge" | "absolute" | "differential";
    unit: string;
  };
  part?: {
    from_s?: Decimal;
    to_s?: Decimal;
  };
  range?: {
    high: Decimal;
    low: Decimal;
    unit: string;
  };
  separator?: string;
  temperature?: {
    column: Decimal;
    unit: string;
  };
  thin?: {
    block: Decimal;
    to?: "extremes" | "mean";
  };
  time: {
    bridge?: boolean;
    column?: Decimal;
    date_column?: Decimal;
    form: "number" | "epoch" | "index" | "clock" | "date";
    interval_s?: Decimal;
    order?: "ymd" | "dmy" | "mdy";
    unit?: "us" | "ms" | "s" | "min" | "h" | "d";
  };
  unit: string;
};

export type TraceSamples = {
  barometer_pa?: Decimal[];
  contact?: string;
  p: Decimal[];
  t_s: Decimal[];
  temperature_c?: Decimal[];
};

export type TraceState = {
  after: number;
  blank: number;
  bridged_ns: string;
  clock_ns: string;
  comments: number;
  contact?: boolean;
  contact_changes: number;
  day_ns: string;
  end_ns: string;
  faults: number;
  faults_by: {
    below_absolute_zero?: number;
    contact_never_changes?: number;
    contact_word?: number;
    mixed_zone?: number;
    no_rows?: number;
    not_a_number?: number;
    quote?: number;
    short_row?: number;
    time_backwards?: number;
    time_form?: number;
    time_twice?: number;
    unit_implausible?: number;
  };
  first_ns: string;
  gaps: number;
  has_contact?: boolean;
  high: Decimal;
  implausible?: boolean;
  kept: number;
  last_ns: string;
  line: number;
  low: Decimal;
  missing_barometer: number;
  missing_contact: number;
  missing_p: number;
  missing_temperature: number;
  outside: number;
  rows: number;
  started?: boolean;
  step_ns: string;
  used: number;
  zoned?: boolean;
};

export type UnitsInput = {
  list?: boolean;
  quantity?: string;
  temperature_k?: Decimal;
  to?: string;
};

export type UnitsOutput = {
  calc: string;
  unit?: string;
  units?: {
    exact: boolean;
    factor: number;
    factor_text?: string;
    kind: string;
    shift?: number;
    spellings?: string[];
    ucum: string;
    unit: string;
  }[];
  value?: number;
};

export type UsesInput = {
  after: { [name: string]: Json }[];
  before?: { [name: string]: Json }[];
  most: number;
  range: { [name: string]: Json };
  uses: {
    standard?: Json;
    unread?: boolean;
    years_since?: string;
  }[];
};

export type UsesOutput = {
  calc: string;
  of_range: number[];
  pieces: {
    after: { [name: string]: Json };
    before: { [name: string]: Json };
    unit: string;
    uses: number[];
  }[];
};

export type VisitField = {
  heads: VisitHead[];
  replaced: string[];
};

export type VisitHead = {
  author?: string;
  change?: string;
  device?: string;
  stamp?: string;
  value?: Json;
  wall?: string;
};

export type VisitInput = {
  runs: VisitRecord[];
  visit: VisitRecord;
};

export type VisitOutput = {
  calc: string;
  covers: string[];
  reported: {
    as_found?: string;
    as_left?: string;
  };
  runs: {
    effective: {
      earlier?: string[];
      id: string;
    }[];
    id: string;
  }[];
  sent_back: string[];
  service: ("oxygen" | "air")[];
  sheet: {
    barometer?: { [name: string]: Json };
    before?: { [name: string]: Json };
    head?: { [name: string]: Json };
    instrument: { [name: string]: Json };
    meter?: { [name: string]: Json };
    method: { [name: string]: Json };
    standard?: { [name: string]: Json };
    surroundings?: { [name: string]: Json };
  };
  stage: {
    kind: "cautions" | "identity" | "halt" | "standard" | "service" | "surroundings" | "since" | "begin" | "bypasses" | "run" | "adjusted" | "finish" | "done";
    label?: "as found" | "as left";
    run?: string;
    why?: "cautions" | "identity" | "damaged" | "oxygen" | "air";
  };
  status: "open" | "signed" | "returned" | "approved" | "reopened";
  summary: {
    as_found?: VisitShort;
    as_left?: VisitShort;
  };
};

export type VisitRecord = {
  fields: { [name: string]: VisitField };
  id: string;
  kind: string;
  parent?: string;
  site?: string;
};

export type VisitShort = {
  points: {
    direction: string;
    error: number | null;
    limit: number | null;
    point: Json;
  }[];
  results?: { [name: string]: Json }[];
  verdict: string;
  worst_fraction: number | null;
};

export type VisitsField = {
  heads: VisitsHead[];
  replaced: string[];
};

export type VisitsHead = {
  author?: string;
  change?: string;
  device?: string;
  stamp?: string;
  value?: Json;
  wall?: string;
};

export type VisitsInput = {
  visits: VisitsRecord[];
};

export type VisitsOutput = {
  calc: string;
  visits: {
    id: string;
    sent_back: string[];
    status: "open" | "signed" | "returned" | "approved" | "reopened";
  }[];
};

export type VisitsRecord = {
  fields: { [name: string]: VisitsField };
  id: string;
  kind: string;
  parent?: string;
  site?: string;
};

export type WayAlone = {
  crossing_ft?: number;
  level: boolean;
  pitot_kt?: number;
  trapped?: boolean;
};

export type WayInput = {
  at: number;
  done: string[];
  field_hpa?: number | string;
  max_rate_kt_min?: number | string;
  particulars?: { [name: string]: Json };
  steps: { [name: string]: Json }[];
};

export type WayMove = {
  duration_s?: number;
  points?: {
    altitude_ft: number;
    cas_kt: number;
    impact_pa: number;
    impact_rate_pa_s: number;
    static_pa: number;
    static_rate_pa_s: number;
    t_s: number;
    total_pa: number;
  }[];
  refused?: string;
  route?: "straight" | "bent" | "in-turn";
  violations?: {
    code: "max_altitude_ft" | "min_altitude_ft" | "max_cas_kt" | "max_mach";
    from_s: number;
    limit: number;
    until_s: number;
    worst: number;
  }[];
};

export type WayOutput = {
  alone?: WayAlone;
  alone_then?: WayAlone;
  back?: WayMove;
  calc: string;
  climb_ft_min?: number;
  field_pa?: number;
  field_pa_s?: number;
  going_home?: boolean;
  heading?: WayStand;
  here_pa_s?: number;
  highest_ft?: number;
  home?: WayStand;
  known: boolean;
  max_cas_kt?: number;
  move?: WayMove;
  reached?: WayStand;
};

export type WayStand = {
  altitude_ft: number;
  cas_kt: number;
  impact_pa: number;
  static_pa: number;
};

/** Calculations maps the name of every calculation to its input and its output. */
export type Calculations = {
  after: { input: AfterInput; output: AfterOutput };
  air: { input: AirInput; output: AirOutput };
  airdata: { input: AirdataInput; output: AirdataOutput };
  altimeter: { input: AltimeterInput; output: AltimeterOutput };
  balance: { input: BalanceInput; output: BalanceOutput };
  begun: { input: BegunInput; output: BegunOutput };
  bring: { input: BringInput; output: BringOutput };
  budget: { input: BudgetInput; output: BudgetOutput };
  burst: { input: BurstInput; output: BurstOutput };
  certificate: { input: CertificateInput; output: CertificateOutput };
  certificates: { input: CertificatesInput; output: CertificatesOutput };
  certify: { input: CertifyInput; output: CertifyOutput };
  changes: { input: ChangesInput; output: ChangesOutput };
  choose: { input: ChooseInput; output: ChooseOutput };
  conformity: { input: ConformityInput; output: ConformityOutput };
  corrections: { input: CorrectionsInput; output: CorrectionsOutput };
  drift: { input: DriftInput; output: DriftOutput };
  due: { input: DueInput; output: DueOutput };
  dwell: { input: DwellInput; output: DwellOutput };
  energy: { input: EnergyInput; output: EnergyOutput };
  entry: { input: EntryInput; output: EntryOutput };
  evaluate: { input: EvaluateInput; output: EvaluateOutput };
  expand: { input: ExpandInput; output: ExpandOutput };
  facts: { input: FactsInput; output: FactsOutput };
  figures: { input: FiguresInput; output: FiguresOutput };
  fill: { input: FillInput; output: FillOutput };
  fitting: { input: FittingInput; output: FittingOutput };
  fluid: { input: FluidInput; output: FluidOutput };
  follow: { input: FollowInput; output: FollowOutput };
  gauge: { input: GaugeInput; output: GaugeOutput };
  gravity: { input: GravityInput; output: GravityOutput };
  head: { input: HeadInput; output: HeadOutput };
  interval: { input: IntervalInput; output: IntervalOutput };
  item: { input: ItemInput; output: ItemOutput };
  kept: { input: KeptInput; output: KeptOutput };
  kin: { input: KinInput; output: KinOutput };
  leak: { input: LeakInput; output: LeakOutput };
  line: { input: LineInput; output: LineOutput };
  lot: { input: LotInput; output: LotOutput };
  manifold: { input: ManifoldInput; output: ManifoldOutput };
  methods: { input: MethodsInput; output: MethodsOutput };
  model: { input: ModelInput; output: ModelOutput };
  observations: { input: ObservationsInput; output: ObservationsOutput };
  past: { input: PastInput; output: PastOutput };
  pitot_static_leak: { input: PitotStaticLeakInput; output: PitotStaticLeakOutput };
  place: { input: PlaceInput; output: PlaceOutput };
  plan: { input: PlanInput; output: PlanOutput };
  points: { input: PointsInput; output: PointsOutput };
  preview: { input: PreviewInput; output: PreviewOutput };
  profile: { input: ProfileInput; output: ProfileOutput };
  quantile: { input: QuantileInput; output: QuantileOutput };
  rehearse: { input: RehearseInput; output: RehearseOutput };
  reverse: { input: ReverseInput; output: ReverseOutput };
  risk: { input: RiskInput; output: RiskOutput };
  round: { input: RoundInput; output: RoundOutput };
  serves: { input: ServesInput; output: ServesOutput };
  settle: { input: SettleInput; output: SettleOutput };
  standard: { input: StandardInput; output: StandardOutput };
  stated: { input: StatedInput; output: StatedOutput };
  suitable: { input: SuitableInput; output: SuitableOutput };
  switch: { input: SwitchInput; output: SwitchOutput };
  together: { input: TogetherInput; output: TogetherOutput };
  tolerance_factor: { input: ToleranceFactorInput; output: ToleranceFactorOutput };
  trace: { input: TraceInput; output: TraceOutput };
  units: { input: UnitsInput; output: UnitsOutput };
  uses: { input: UsesInput; output: UsesOutput };
  visit: { input: VisitInput; output: VisitOutput };
  visits: { input: VisitsInput; output: VisitsOutput };
  way: { input: WayInput; output: WayOutput };
};

/** Units of what is no pressure, and so neither gauge, absolute nor differential. */
export const modeless: ReadonlySet<string> = new Set([
  "K",
  "degC",
  "C",
  "degF",
  "F",
  "m",
  "mm",
  "cm",
  "km",
  "in",
  "ft",
  "m/s",
  "km/h",
  "mph",
  "kt",
  "kn",
  "ft/min",
  "m3",
  "L",
  "l",
  "dm3",
  "mL",
  "ml",
  "cm3",
  "ft3",
  "in3",
  "kg",
  "g",
  "lb",
  "s",
  "min",
  "h",
  "Pa.m3/s",
  "mbar.L/s",
  "mbar.l/s",
  "Torr.L/s",
  "sccm@0C",
  "sccm@20C",
  "sccm@25C",
  "mol/s",
  "mA",
  "A",
  "V",
  "mV",
  "%",
  "ppm",
  "1",
]);
