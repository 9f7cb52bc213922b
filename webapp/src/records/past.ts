import { readField } from "../wire/read";
import { object, type RecordState, value } from "../wire/records";

/**
 * failedBefore gives the last visit with a result among visits, latest first, where a failure of a
 * safety function stands since.
 */
export function failedBefore(visits: RecordState[]): RecordState | undefined {
  const last = visits.find((v) => {
    const { as_found: found, as_left: left } = object(v, "summary");
    return value(v, "signature") !== undefined && (found ?? left) !== undefined;
  });
  const { after } = readField("visit", last, "summary");
  return after?.open === true && after.safety === true ? last : undefined;
}
