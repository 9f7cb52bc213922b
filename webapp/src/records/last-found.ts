import { readField } from "../wire/read";
import { asNumber, asObject, asText, object, type RecordState, text, value } from "../wire/records";

/** unitsOf gives the units of a visit's errors: the unit of the range, and that of a signal. */
function unitsOf(visit: RecordState): string {
  const item = object(visit, "item");
  return [item["range"], item["output"]].map((r) => asText(asObject(r)["unit"])).join(" ");
}

/**
 * lastFound gives an instrument's last as-found error at a point, from its visits; none if there is
 * none, or if it was in other units.
 */
export function lastFound(
  visits: readonly RecordState[],
  visit: RecordState,
  point: string,
  direction: string,
): { error: number; at: string } | undefined {
  const before = visits
    .filter(
      (v) => v.id !== visit.id && value(v, "signature") !== undefined && text(v, "started") < text(visit, "started"),
    )
    .filter((v) => readField("visit", v, "summary").as_found !== undefined && unitsOf(v) === unitsOf(visit))
    .sort((a, b) => (text(a, "started") < text(b, "started") ? 1 : -1))[0];
  const { as_found } = object(before, "summary");
  const { points } = asObject(as_found);
  if (!before || !Array.isArray(points)) return undefined;
  const same = points
    .map(asObject)
    .find((p) => Number(asText(p["point"])) === Number(point) && asText(p["direction"]) === direction);
  const error = asNumber(same?.["error"]);
  return error === undefined ? undefined : { error, at: text(before, "started") };
}
