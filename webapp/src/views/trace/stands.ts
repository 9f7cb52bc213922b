import type { Step } from "../../records/run";

/**
 * standsFor gives the ids of the other steps that a record of one step replaces: for a switch the
 * cycles of that contact, for a disc the question whether it burst, for a leak test the values in
 * the record's own columns.
 */
export function standsFor(step: Step, steps: Step[], has: { temperature: boolean; barometer: boolean }): string[] {
  const contact = /^k(\d+)\.trace$/.exec(step.id)?.[1];
  if (contact !== undefined) {
    const mine = (s: Step) => new RegExp(`^c\\d+\\.k${contact}\\.`).test(s.id);
    const others = steps.some((s) => /^c\d+\.k\d+\./.test(s.id) && !mine(s));
    return steps.filter((s) => mine(s) || (!others && /^c\d+\.start$/.test(s.id))).map((s) => s.id);
  }
  const after = [
    ...(step.of === "applied" ? ["burst"] : []),
    ...(has.temperature ? ["t1"] : []),
    ...(has.barometer ? ["b1"] : []),
  ];
  return steps.filter((s) => after.some((name) => s.id === `${step.id}.${name}`)).map((s) => s.id);
}
