import { Check } from "../parts/check";
import { Field } from "../parts/field";
import { cautionWords } from "../words/cautions";
import { navigate } from "../nav/route";
import { commit } from "../store/store";
import { alike } from "../wire/alike";
import { readEach } from "../wire/read";
import { asNumber, asObject, heads, type Json, type RecordState, text, value } from "../wire/records";
import { methodsWords as w } from "../words/methods";

/** A draft of a method: the method as one person would change it. */
export type MethodDraft = {
  user: string;
  name: string;
  definition: { [name: string]: Json };
  cautions: string[];
  why: string;
};

/** draftsOf lists the drafts of a method. */
export const draftsOf = (method: RecordState | undefined): MethodDraft[] =>
  readEach("method", method, "draft").flatMap(([user, d]) =>
    Object.keys(asObject(d.definition)).length > 0 ? [{ ...d, user, definition: asObject(d.definition) }] : [],
  );

/** methodName is the name of a method: of its version in force, or else of its draft. */
export const methodName = (method: RecordState | undefined): string =>
  text(method, "name") || (draftsOf(method)[0]?.name ?? "");

/** inForce says whether a method has a version in force. */
export const inForce = (method: RecordState | undefined): boolean =>
  value(method, "definition") !== undefined && value(method, "version") !== 0;

/**
 * asDrafted is a method as a draft would make it: the person's own draft, or the first one if no
 * version is in force; otherwise the method as it is.
 */
export function asDrafted(method: RecordState, user: string): RecordState {
  const drafts = draftsOf(method);
  const draft = drafts.find((d) => d.user === user) ?? (inForce(method) ? undefined : drafts[0]);
  const head = draft && heads(method, `draft.${draft.user}`)[0];
  if (!draft || !head) return method;
  const as = (v: Json) => ({ heads: [{ ...head, value: v }], replaced: [] });
  const { name, definition, cautions } = draft;
  return {
    ...method,
    fields: {
      ...method.fields,
      ...(inForce(method) ? {} : { version: as(0) }),
      name: as(name),
      definition: as(definition),
      cautions: as(cautions),
    },
  };
}

/** commitMethod writes fields of a method, or of a new one, and gives its id. */
export async function commitMethod(
  method: RecordState | undefined,
  set: { field: string; value: Json }[],
): Promise<string> {
  const { site = "", parent = "" } = method ?? {};
  const made = await commit({ ...(method ? { record: method.id } : {}), kind: "method", site, parent, set });
  return made.record.id;
}

type Wanted = { name: string; definition: { [name: string]: Json }; cautions: string[] };

/** alikeTo says whether a method already equals what is wanted. */
export const alikeTo = (shown: RecordState | undefined, wanted: Wanted): boolean =>
  Object.entries(wanted).every(([field, v]) => alike(shown?.fields[field]?.heads[0]?.value, v));

/** lacksReason says whether a method in force would be changed without a reason. */
export const lacksReason = (shown: RecordState | undefined, wanted: Wanted, why: string): boolean =>
  inForce(shown) && why.trim() === "" && !alikeTo(shown, wanted);

/**
 * keepMethod saves a method as the person's draft, or begins one, and returns what it did. shown is
 * the method as it was opened.
 */
export async function keepMethod(
  shown: RecordState | undefined,
  user: string,
  wanted: Wanted,
  why: string,
): Promise<string> {
  const own = draftsOf(shown).find((d) => d.user === user);
  if (shown && alikeTo(shown, wanted) && (own === undefined || own.why === why)) return w.same;
  const from = inForce(shown) ? (asNumber(value(shown, "version")) ?? 0) : 0;
  const at = new Date().toISOString();
  const id = await commitMethod(shown, [{ field: `draft.${user}`, value: { ...wanted, at, why, from } }]);
  if (!shown) navigate(`/office/method/${id}`);
  return w.kept;
}

/** WhyChanged asks for the reason for changing a method that is in force. */
export function WhyChanged({ why, onInput, error }: { why: string; onInput: (why: string) => void; error?: string }) {
  return <Field label={w.why} value={why} onInput={onInput} {...(error === undefined ? {} : { error })} />;
}

/** CautionBoxes is the list of cautions to tick for a method. */
export function CautionBoxes({ cautions, onChange }: { cautions: string[]; onChange: (c: string[]) => void }) {
  return (
    <>
      <h2>{w.cautions}</h2>
      {Object.keys(cautionWords.codes).map((c) => (
        <Check
          key={c}
          label={cautionWords.codes[c] ?? c}
          checked={cautions.includes(c)}
          onChange={(on) => onChange(on ? [...cautions, c] : cautions.filter((x) => x !== c))}
        />
      ))}
    </>
  );
}
