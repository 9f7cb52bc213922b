import { asNumber, asObject, asText, object, type RecordState, text, value } from "../wire/records";

/**
 * lastFound gives what an instrument showed too much at a point when it was last found, among its
 * visits; none where it never was, or was judged in another unit then.
 */
export function lastFound(
  visits: readonly RecordState[],
  visit: RecordState,
  point: string,
  direction: string,
): { error: number; at: string } | undefined {
  const unit = (v: RecordState) => asText(asObject(object(v, "item")["range"])["unit"]);
  const before = visits
    .filter(
      (v) => v.id !== visit.id && value(v, "signature") !== undefined && text(v, "started") < text(visit, "started"),
    )
    .filter((v) => object(v, "summary")["as_found"] !== undefined && unit(v) === unit(visit))
    .sort((a, b) => (text(a, "started") < text(b, "started") ? 1 : -1))[0];
  const points = asObject(object(before, "summary")["as_found"])["points"];
  if (!before || !Array.isArray(points)) return undefined;
  const same = points
    .map(asObject)
    .find((p) => Number(asText(p["point"])) === Number(point) && asText(p["direction"]) === direction);
  const error = asNumber(same?.["error"]);
  return error === undefined ? undefined : { error, at: text(before, "started") };
}
