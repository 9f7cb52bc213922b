import { asObject, list, type RecordState, text } from "../wire/records";

/** standardsAsked gives what the calculations choose and bring ask of each standard. */
export function standardsAsked(standards: readonly RecordState[]) {
  return standards.map((s) => ({
    id: s.id,
    name: text(s, "name"),
    status: text(s, "status"),
    due: text(s, "due"),
    calibrated: text(s, "calibrated"),
    medium: text(s, "medium"),
    cleaned_for_oxygen: text(s, "cleaned_for_oxygen"),
    ranges: list(s, "ranges").map(asObject),
  }));
}
