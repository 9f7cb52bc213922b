/** The texts about uncertainty, standards and corrections on a visit, in English. */
export const budgetWords = {
  standard: {
    ratio: (ratio: string, point: string) => `limit to uncertainty ${ratio} : 1 at its worst, at ${point}`,
    needed: (ratio: string) => `The method asks for ${ratio} : 1, the limit to the standard's expanded uncertainty.`,
    unknown: "The ratio to the limit could not be worked out for this method and instrument.",
    refused: "Refused:",
    tooLow: (ratio: string, needed: string, point: string) => `the ratio of ${ratio} : 1 at ${point} is below the ${needed} : 1 that is needed`,
    noSpecification: "nothing is stated about its uncertainty",
    noStatement: (point: string, why: string) => (point === "" ? why : `${why} (${point})`),
    certified: (n: number) => `corrected by its certificate's ${n} points`,
  },
  gravity: (measured: string, latitude: string, show: (n: string) => string) =>
    measured !== ""
      ? `Gravity ${show(measured)} m/s\u00b2, as measured for this site.`
      : latitude !== ""
        ? `Gravity from this site's latitude, ${show(latitude)}\u00b0.`
        : "Nothing is noted of this site's gravity: the usual value is taken.",
  uncertainty: "U",
  uncertaintyTold: "expanded uncertainty",
  k: (k: string) => `k = ${k}`,
  open: "Where U comes from",
  sizes: "What was corrected",
  point: (p: string) => `At ${p}`,
  sum: (u: string, k: string) => `U = ${u}, k = ${k}`,
  dof: (n: string) => `effective degrees of freedom ${n}`,
  probability: (p: string) => `probability inside the limit ${p}`,
  ratio: (r: string) => `limit to U ${r} : 1`,
  risk: (p: string) => `risk of a wrong verdict here ${p}`,
  riskAtLimit: (p: string) => `Risk for an error that is only just accepted: ${p}.`,
  none: "No uncertainty was worked out: nothing is stated about the standard's.",
  columns: { name: "What", value: "Size", shape: "Shape, divisor", sensitivity: "Sensitivity", contribution: "Contribution", share: "Share", from: "From" },
  terms: {
    std: "The standard's specification",
    cert: "The standard's certificate",
    drift: "Drift of the standard since its calibration",
    res: "Resolution of the reading",
    zero: "Zero before and after",
    rep: "Repeatability",
    repro: "Mounting anew",
    hys: "Rising against falling",
    temp: "Temperature of the instrument",
    head: "Difference of level",
    grav: "Gravity",
    meter: "Meter at the output",
  } as Record<string, string>,
  shapes: {
    normal: "normal",
    rectangular: "rectangular",
    triangular: "triangular",
    "u-shaped": "U-shaped",
    trapezoidal: "trapezoidal",
    student: "Student's t",
  } as Record<string, string>,
  from: (code: string) => {
    if (code.startsWith("standard.ranges")) return "the standard's record, as copied into the visit";
    const known: Record<string, string> = {
      "standard.u": "the standard's record",
      standard: "the standard's record",
      "standard.certificate": "the points of the standard's certificate",
      "standard.drift_per_year": "the standard's record and its calibration date",
      resolution: "the instrument's record",
      "output.resolution": "the instrument's record",
      readings: "this run's readings",
      temperature_coefficient_percent_per_k: "the instrument's or method's coefficient and the noted temperature",
      "head.half_width_m": "half width of the noted level",
      head: "gravity as taken for the noted level",
      "head.gravity_m_s2": "gravity as noted",
      "head.latitude_deg": "gravity from the noted latitude",
      "output.meter_u": "the instrument's record",
    };
    return known[code] ?? code.replaceAll("_", " ");
  },
  corrections: {
    head: (size: string) => `Difference of level: ${size}`,
    headBetween: (low: string, high: string) => `Difference of level: ${low} to ${high}, with the pressure`,
    air: (density: string) => `air of ${density} kg/m³, from the noted temperature, pressure and humidity`,
    noAir: "the column is absolute or of no gas: the air has no part",
    temperature: (percent: string) =>
      `At the noted temperature EN 837-1 lets the indication change by up to ${percent} % of span; neither reading nor limit is changed for it.`,
    once: "Each correction is applied once, to the pressure of the standard. What was typed stays as it is.",
    none: "Nothing was corrected: the pressures stand as typed.",
    typed: "As typed",
    judged: "As judged",
    difference: "Correction",
    ofHead: "of it level",
    ofCertificate: "of it certificate",
  },
};
