import { call } from "../calc/calc";
import type { ItemOutput, KeptOutput } from "../wire/calculations.gen";
import { commit } from "../store/store";
import { type Json, latest, object, type RecordState, text, value } from "../wire/records";

/** The record of an instrument: as the calculations take it, and as a visit keeps it. */
export const itemOf = (instrument: RecordState): Promise<ItemOutput> =>
  call("item", { id: instrument.id, fields: latest(instrument) });

/** instrumentFor gives an instrument's record as the calculations take it. */
export const instrumentFor = async (instrument: RecordState): Promise<ItemOutput["instrument"]> =>
  (await itemOf(instrument)).instrument;

/** identity gives what a visit keeps of an instrument at this moment. */
export const identity = async (instrument: RecordState): Promise<ItemOutput["item"]> => (await itemOf(instrument)).item;

/** instrumentOf gives the instrument as the calculations take it, from the copy that a visit keeps. */
export const instrumentOf = async (visit: RecordState): Promise<ItemOutput["instrument"]> =>
  (await call("item", { fields: object(visit, "item") })).instrument;

/**
 * keptOf gives a range as the calculations take a standard, none if nothing is stated about it;
 * what a visit keeps of its standard; and the standard as the instrument of a visit.
 */
export const keptOf = (range: { [name: string]: Json }, standard?: RecordState): Promise<KeptOutput> =>
  call("kept", { range, ...(standard ? { id: standard.id, fields: latest(standard) } : {}) });

/** The method that a visit begins with, in the version that it keeps. */
export type Begun = { id: string; version: Json; name: string; definition: Json; reason?: string };

/**
 * methodNow gives a method as a visit that begins now keeps it; why says why it is taken instead of
 * the one that is set.
 */
export const methodNow = (method: RecordState, why = ""): Begun => ({
  id: method.id,
  version: value(method, "version") ?? 1,
  name: text(method, "name"),
  definition: value(method, "definition") ?? null,
  ...(why === "" ? {} : { reason: why }),
});

/**
 * beginVisit makes a visit to an instrument or a standard, whose copy is item, and gives its id.
 * The caller may choose the id.
 */
export async function beginVisit(
  of: RecordState,
  method: Begun,
  item: Json,
  person: string,
  more: { field: string; value: Json }[] = [],
  id?: string,
): Promise<string> {
  const made = await commit({
    ...(id === undefined ? {} : { record: id }),
    kind: "visit",
    site: of.site,
    parent: of.id,
    set: [
      { field: "instrument", value: of.id },
      { field: "method", value: method },
      { field: "item", value: item },
      { field: "started", value: new Date().toISOString() },
      { field: "person", value: person },
      ...more,
    ],
  });
  return made.record.id;
}
