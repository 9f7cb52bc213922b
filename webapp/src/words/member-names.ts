import { say } from "./language";

/**
 * What the members of values are called where changes are listed, in English. A name that is not here
 * is written as it is, with blanks.
 */
const members: { [member: string]: string } = {
  accepted: "accepted",
  accreditation: "accreditation",
  action: "advice",
  alone: "without a second person",
  as_found: "as found",
  as_left: "as left",
  at: "at",
  by: "by",
  calibrated: "calibrated",
  caption: "caption",
  cause: "cause",
  cautions: "cautions",
  certificate: "certificate",
  class: "class",
  code: "code",
  codes: "cautions",
  count: "number of points",
  coverage: "coverage",
  cycles: "cycles",
  decision: "decision rule",
  direction: "direction",
  directions: "directions",
  done: "done",
  drift_per_year: "drift a year",
  due: "due",
  due_months: "due after (months)",
  effect: "what it means",
  entry: "entry",
  evidence: "evidence",
  exercise: "preloads",
  exercise_hold_s: "hold of a preload (s)",
  expanded: "expanded uncertainty",
  fluid: "fluid",
  from: "from",
  guard_factor: "guard band, in expanded uncertainties",
  high: "high end",
  hold_s: "wait at a point (s)",
  hold_top_s: "wait at the upper end (s)",
  humidity_percent: "humidity (%)",
  interval_s: "between readings (s)",
  kind: "kind of work",
  label: "which",
  limit: "limit",
  limits_read: "limits compared with their text",
  line: "line",
  low: "low end",
  may: "may",
  method: "method",
  min_probability: "least probability for a pass",
  mode: "mode",
  months: "months",
  name: "name",
  needed_ratio: "test uncertainty ratio, at least",
  none: "none",
  note: "note",
  number: "number",
  of_reading_percent: "% of reading",
  of_span_percent: "% of span",
  ok: "in order",
  order: "order",
  overload: "overload limit",
  owner: "owner",
  parts: "parts",
  percents: "per cents of span",
  person: "person",
  phases: "phases",
  place: "place",
  points: "test points",
  pressure: "pressure",
  pressure_hpa: "air pressure (hPa)",
  priority: "priority",
  range: "range",
  ranges: "ranges",
  reason: "reason",
  received: "received",
  remark: "remark",
  remount: "mounted anew",
  resolution: "resolution",
  rest_s: "rest at zero (s)",
  rule: "rule",
  rules: "rules",
  seconds: "seconds",
  serial: "serial",
  series: "series",
  settle_s: "settling (s)",
  shown: "shown",
  since: "since",
  source: "source",
  standard: "standard",
  standard_above_m: "standard above (m)",
  state: "state",
  steps: "steps",
  stops: "stops",
  summary: "result",
  tag: "tag",
  tap: "tap before reading",
  temperature_c: "temperature (\u00b0C)",
  text: "text",
  title: "title",
  tolerance: "tolerance",
  tolerance_percent: "tolerance (%)",
  type: "type",
  unit: "unit",
  until: "until",
  value: "value",
  values: "pressures",
  verdict: "verdict",
  version: "version",
  wanted: "wanted by",
  was: "before",
  way: "way",
  where: "where",
  why: "reason",
  with: "with",
  yes: "yes",
  no: "no",
};

export const memberNames = say("memberNames", members);

/** memberName is what a member of a value is called. */
export const memberName = (name: string): string => memberNames[name] ?? name.replaceAll("_", " ");

/**
 * pathName writes the path of a member of a value. An entry of a list is named by what it is known by,
 * and by its number where nothing tells it from the others: ranges.2.high is "ranges 0 … 20 bar, high
 * end", series.2.exercise "series 2, preloads", and 2.exercise "entry 2, preloads".
 */
export function pathName(path: string, named: { [path: string]: string } = {}): string {
  const out: string[] = [];
  let at = "";
  for (const part of path.split(".")) {
    at = at === "" ? part : `${at}.${part}`;
    if (!/^\d+$/.test(part)) out.push(memberName(part));
    else if (out.length > 0) out.push(`${out.pop()} ${named[at] ?? part}`);
    else out.push(named[at] ?? `${memberName("entry")} ${part}`);
  }
  return out.join(", ");
}
