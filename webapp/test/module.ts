import { readFile } from "node:fs/promises";
import { Machine } from "../src/calcworker/wasi";
import { effective, learn, type Rules, requestOf } from "../src/records/rules";
import type { Calculations } from "../src/wire/calculations.gen";
import type { RecordState } from "../src/wire/records";

const machine = new Machine(await WebAssembly.compile(await readFile(new URL("calc.wasm", import.meta.url))));

/** calculate runs a calculation of the phone's module. */
export function calculate<N extends keyof Calculations>(name: N, doc: unknown): Calculations[N]["output"] {
  const reply = JSON.parse(machine.call(`calc/${name}`, JSON.stringify(doc)));
  if (reply.error) throw new Error(JSON.stringify(reply.error));
  return reply;
}

/**
 * ruled gives the rules' answer of the module about a visit and its runs in their present state.
 */
export const ruled = (visit: RecordState, runs: RecordState[]): Rules =>
  learn(visit, runs, calculate("visit", requestOf(visit, runs)));

/** merging runs a part of the merge of the phone's module. */
export async function merging(name: string, doc: unknown) {
  const reply = JSON.parse(machine.call(name, JSON.stringify(doc)));
  if (reply.error) throw new Error(JSON.stringify(reply.error));
  return reply;
}

const nobody: RecordState = { id: "v", kind: "visit", site: "s", parent: "", fields: {} };

/** known gives a run after the module has given its effective captures. */
export function known(run: RecordState): RecordState {
  ruled(nobody, [run]);
  return run;
}

/** effectiveOf gives the effective captures of a run in its present state. */
export const effectiveOf = (run: RecordState) => effective(known(run));
