import { readField, readEach } from "../wire/read";
import { call } from "../calc/calc";
import { unsent } from "../store/store";
import { asObject, many, mayBeBack, type RecordState, value } from "../wire/records";

/**
 * The state of a signed visit: on this phone only, sent, seen at the office, approved, or sent back
 * with the office's words.
 */
export type Where = { at: "here" | "sent" | "seen" | "approved" | "returned"; said: string };

const seenAsSigned = (visit: RecordState): boolean => {
  const signed = visit.fields["signature"]?.heads[0]?.change ?? "";
  return many(visit, "seen").some(([, v]) => {
    const of = asObject(v)["of"];
    return Array.isArray(of) && of.includes(signed);
  });
};

/**
 * whereAre gives the state of each of some visits. It asks the rules what the office's decisions
 * mean, but only if there may be one.
 */
export async function whereAre(visits: RecordState[]): Promise<Map<string, Where>> {
  const signed = visits.filter((v) => value(v, "signature") !== undefined);
  const asked = signed.filter((v) => mayBeBack(v));
  const [here, said] = await Promise.all([unsent(), asked.length > 0 ? call("visits", { visits: asked }) : undefined]);
  const standing = new Map(said?.visits.map((v) => [v.id, v]));
  const photos = (v: RecordState) => readEach("visit", v, "photo").some(([, p]) => here.has(p.sha256));
  return new Map(
    signed.map((v): [string, Where] => {
      const rules = standing.get(v.id);
      if (here.has(v.id) || photos(v)) return [v.id, { at: "here", said: "" }];
      if (rules && rules.sent_back.length > 0) return [v.id, { at: "returned", said: rules.sent_back.at(-1) ?? "" }];
      if (rules ? rules.status === "approved" : value(v, "approval") !== undefined)
        return [v.id, { at: "approved", said: "" }];
      return [v.id, { at: seenAsSigned(v) ? "seen" : "sent", said: "" }];
    }),
  );
}

/** untestedFor gives why a visit ended without a test; "" if it did not. */
export const untestedFor = (visit: RecordState): string => readField("visit", visit, "not_tested").reason;
