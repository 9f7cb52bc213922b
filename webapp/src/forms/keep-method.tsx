import { Check } from "../parts/check";
import { cautionWords } from "../words/cautions";
import { navigate } from "../nav/route";
import { commit } from "../store/store";
import { alike } from "../wire/alike";
import { asNumber, type Json, type RecordState, value } from "../wire/records";
import { methodsWords as w } from "../words/methods";

/** versionAfter is the number that the next version of a method has. */
export const versionAfter = (method: RecordState | undefined) =>
  method ? (asNumber(value(method, "version")) ?? 1) + 1 : 1;

/** commitMethod writes fields of a method, or of a new one, and gives its id. */
export async function commitMethod(
  method: RecordState | undefined,
  set: { field: string; value: Json }[],
): Promise<string> {
  const { site = "", parent = "" } = method ?? {};
  const made = await commit({ ...(method ? { record: method.id } : {}), kind: "method", site, parent, set });
  return made.record.id;
}

/** keepMethod keeps a method's fields as its next version, or begins one; it returns what it did. */
export async function keepMethod(method: RecordState | undefined, wanted: { [field: string]: Json }): Promise<string> {
  const set = Object.entries(wanted)
    .filter(([field, v]) => !alike(method?.fields[field]?.heads[0]?.value, v))
    .map(([field, v]) => ({ field, value: v }));
  if (set.length === 0) return w.same;
  const version = versionAfter(method);
  set.push({ field: "version", value: version });
  const id = await commitMethod(method, set);
  if (!method) navigate(`/office/method/${id}`);
  return w.kept(version);
}

/** CautionBoxes is the list of cautions, to be ticked for a method. */
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
