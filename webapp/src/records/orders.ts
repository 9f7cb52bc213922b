import { readEach } from "../wire/read";
import { type RecordState, value } from "../wire/records";

/** A work order of another system on an instrument. */
export type WorkOrder = { number: string; text: string; wanted: string; priority: string; from: string };

/**
 * openOrders gives the work orders on an instrument that are not done, in the order in which they
 * came.
 */
export function openOrders(instrument: RecordState): WorkOrder[] {
  return readEach("instrument", instrument, "order")
    .filter(([id]) => value(instrument, `order.${id}`) !== null)
    .map(([, o]) => o)
    .filter((o) => o.number !== "" && o.done === "");
}

/** theOrder is the number of the work order that a visit is for: the instrument's only open one. */
export function theOrder(instrument: RecordState): string | undefined {
  const open = openOrders(instrument);
  return open.length === 1 ? open[0]?.number : undefined;
}
