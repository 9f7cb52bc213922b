import { visitWords } from "../../words/visit";
import { showDecimal } from "../../words/words";
import type { Step } from "./run";

const w = visitWords.run;

const decimal = /^[-+]?[0-9.]+(e[-+]?[0-9]+)?$/i;

/** amount shows a decimal with its unit; an answer in words, such as the name of a disc, stays as it is. */
export function amount(v: string, unit: string): string {
  const shown = decimal.test(v) ? showDecimal(v) : v;
  return v === "" || unit === "" ? shown : `${shown}\u00a0${unit}`;
}

/** instruction says a step in words; top is the end of the instrument's range. */
export function instruction(s: Step, top: string): string {
  const to = amount(s.target, s.unit);
  switch (s.do) {
    case "exercise":
      return w.exercise(s.count, to || top);
    case "vent":
      return s.text || w.vent;
    case "set":
      return s.text || (s.direction === "up" ? w.setUp(to) : s.direction === "down" ? w.setDown(to) : w.set(to));
    case "ramp":
      return s.text || w.ramp(to, amount(s.rate, `${s.unit}/s`), w.untils[s.until] ?? s.until);
    case "hold":
      return w.hold(visitWords.seconds(s.seconds));
    case "settle":
      return s.text || w.settle(amount(s.within, s.unit), visitWords.seconds(s.seconds), s.atMost > 0 ? visitWords.seconds(s.atMost) : "");
    case "read":
      return s.text || `${w.read} ${to}`;
    case "ask":
      return s.text;
    default:
      return s.text || w.note;
  }
}
