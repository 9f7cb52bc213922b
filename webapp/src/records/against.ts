import { call } from "../calc/calc";
import { airBeside } from "./air";
import type { Decimal, EntryInput } from "../wire/calculations.gen";
import { asObject, type Json } from "../wire/records";
import { sentence } from "../words/words";

type Doc = { [name: string]: Json };

/** An objection to a value. */
export type Against = { level: "refuse" | "ask" | "stop"; code: string; message: string; suggest?: string };

/** A value of a step. sure says that the reader has given a reason why it is right. */
type Valued = { step: string; of: string; value: string; unit: string; sure?: boolean };

/** askedOf writes the input of the calculation entry for a value. */
export function askedOf(sheet: Doc, entries: Valued[], entry: Valued): EntryInput {
  const plain = (e: Valued) => ({ step: e.step, of: e.of, value: e.value, unit: e.unit });
  const { method, instrument, manifold, surroundings, barometer } = sheet;
  const { height_m: height } = asObject(surroundings);
  const captures = entries
    .filter((e) => e.of !== "trace" && !(e.step === entry.step && e.of === entry.of && e.of === "answer"))
    .map(plain);
  return {
    method: asObject(method),
    instrument: asObject(instrument),
    captures,
    ...(manifold === undefined ? {} : { manifold: manifold as NonNullable<EntryInput["manifold"]> }),
    entry: { ...plain(entry), ...(entry.sure ? { sure: true } : {}) } as EntryInput["entry"],
    ...(height === undefined ? {} : { height_m: height as Decimal }),
    ...airBeside(barometer, surroundings),
  };
}

/**
 * everyAgainst asks for the objections to a value that is about to be kept in a run; none if that
 * could not be calculated.
 */
export async function everyAgainst(sheet: Doc, entries: Valued[], entry: Valued): Promise<Against[]> {
  try {
    const { findings } = await call("entry", askedOf(sheet, entries, entry));
    return findings.map((f) => {
      const message = sentence(f.message);
      return { ...f, message: message.charAt(0).toUpperCase() + message.slice(1) };
    });
  } catch (e) {
    console.error(e); // the evaluation checks it again
    return [];
  }
}

/** against gives the gravest objection to a value. */
export async function against(sheet: Doc, entries: Valued[], entry: Valued): Promise<Against | undefined> {
  return (await everyAgainst(sheet, entries, entry))[0];
}
