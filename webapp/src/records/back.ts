import { call } from "../calc/calc";
import { mayBeBack, type RecordState, value } from "../wire/records";

/**
 * backOf asks which of some visits the office has sent back in their present signed state. It asks
 * only about visits where that is possible, so that other screens need no module.
 */
export async function backOf(visits: RecordState[]): Promise<Set<string>> {
  const asked = visits.filter((v) => value(v, "signature") !== undefined && mayBeBack(v));
  if (asked.length === 0) return new Set();
  const said = await call("visits", { visits: asked });
  return new Set(said.visits.filter((v) => v.sent_back.length > 0).map((v) => v.id));
}

/**
 * stillBegun leaves out of the possibly open visits those that are signed and wait for the office.
 */
export async function stillBegun(visits: RecordState[]): Promise<RecordState[]> {
  const back = await backOf(visits);
  return visits.filter((v) => value(v, "signature") === undefined || back.has(v.id));
}
