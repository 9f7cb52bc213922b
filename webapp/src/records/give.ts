import { readField } from "../wire/read";
import { CalcError, call } from "../calc/calc";
import { object, type RecordState, text } from "../wire/records";
import type { FittingInput } from "../wire/calculations.gen";
import { askContested, contested } from "./contested";
import { giveWords as w } from "../words/give";
import { instrumentFor } from "./item";

/** An instrument that cannot take a method, and why. */
export type Refusal = { id: string; tag: string; why: string };

/**
 * The result of checking the chosen instruments: those that take the method, those that have it,
 * those that cannot.
 */
export type Looked = { take: RecordState[]; have: number; refused: Refusal[] };

/** kindOf gives the kind of work of a method. */
export function kindOf(method: RecordState): string {
  return readField("method", method, "definition").kind;
}

/** fittingAsked writes the input of fitting: methods for instruments of some kinds. */
export const fittingAsked = (methods: RecordState[], kinds: string[]): FittingInput => ({
  methods: methods.map((m) => ({ id: m.id, kind: kindOf(m), status: text(m, "status") })),
  kinds,
});

/** named gives the methods whose ids the calculation fitting returned, by name. */
export function named(methods: RecordState[], ids: readonly string[] | undefined): RecordState[] {
  return methods.filter((m) => ids?.includes(m.id)).sort((a, b) => text(a, "name").localeCompare(text(b, "name")));
}

/**
 * Layout makes the plan of a method for an instrument, or throws a CalcError if that is impossible.
 */
export type Layout = (method: RecordState, instrument: RecordState) => Promise<unknown>;

/** laidOut asks for the plan of a method on an instrument. */
export const laidOut: Layout = async (method, instrument) =>
  call("expand", { method: object(method, "definition"), instrument: await instrumentFor(instrument) });

/** lookAt tries a method on instruments, one after the other. */
export async function lookAt(
  method: RecordState,
  ids: string[],
  read: (id: string) => Promise<RecordState | undefined>,
  progress: (done: number) => void,
  layout: Layout = laidOut,
  ask: typeof call = call,
): Promise<Looked> {
  const found: Looked = { take: [], have: 0, refused: [] };
  for (const [n, id] of ids.entries()) {
    progress(n);
    const it = await read(id);
    if (!it) {
      found.refused.push({ id, tag: id.slice(0, 6), why: w.missing });
      continue;
    }
    const refuse = (why: string) => found.refused.push({ id, tag: text(it, "tag") || id.slice(0, 6), why });
    const kind = text(it, "kind");
    if ((await ask("fitting", fittingAsked([method], [kind]))).methods.length === 0) {
      refuse(w.otherKind(kind, kindOf(method)));
      continue;
    }
    await askContested([it]);
    if (text(it, "method") === method.id && !contested(it, "method")) {
      found.have++;
      continue;
    }
    try {
      await layout(method, it);
      found.take.push(it);
    } catch (e) {
      if (!(e instanceof CalcError)) throw e;
      refuse(e.field === "" ? e.message : `${e.field}: ${e.message}`);
    }
  }
  return found;
}
