import type { Json } from "../../wire/records";

type Doc = { [name: string]: Json };

const specification = ["of_reading_percent", "of_span_percent", "absolute", "stability_ppm"];

/** standardDocument writes a range of a standard as the calculation takes it, with its certificate's points and its drift; none when it has no specification. */
export function standardDocument(range: Doc): Doc | undefined {
  if (!specification.some((name) => range[name] !== undefined)) return undefined;
  const kept: Doc = {};
  for (const name of ["low", "high", ...specification, "k"]) if (range[name] !== undefined) kept[name] = range[name];
  const doc: Doc = { ranges: [kept] };
  const points = Array.isArray(range["points"]) ? range["points"] : [];
  if (points.length > 0) doc["certificate"] = { points };
  for (const name of ["drift_per_year", "years_since"]) if (range[name] !== undefined) doc[name] = range[name];
  return doc;
}
