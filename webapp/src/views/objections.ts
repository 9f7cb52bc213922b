import { showSmall } from "../records/budget";
import type { Objection } from "../records/candidates";
import { budgetWords } from "../words/budget";
import { visitWords } from "../words/visit";
import { sentence, showDate, showDecimal } from "../words/words";

const w = visitWords.standard;
const b = budgetWords.standard;

/** said writes an objection to a standard in words. */
export function said(o: Objection, unit: string): string {
  const at = (point: string) => `${showDecimal(point)} ${unit}`;
  const { text = "", point = "", measures = "" } = o;
  switch (o.code) {
    case "out_of_date":
      return w.outOfDate(showDate(o.due ?? ""));
    case "no_date":
      return w.noDate;
    case "low":
      return w.low;
    case "high":
      return w.high;
    case "mode":
      return w.mode(text);
    case "kind":
      return w.quantity[measures] ?? measures;
    case "status":
      return w.status(text);
    case "no_specification":
      return b.noSpecification;
    case "no_statement":
      return b.noStatement(point === "" ? "" : at(point), sentence(text));
    case "programme":
      return w.programme(sentence(text));
    case "oil":
      return w.oil;
    case "not_clean":
      return w.notClean;
    case "ratio":
      return b.tooLow(showSmall(o.ratio ?? 0), showSmall(o.needed ?? 0), at(point));
    default: {
      const never: never = o.code;
      return never;
    }
  }
}
