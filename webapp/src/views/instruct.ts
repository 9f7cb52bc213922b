import { figureWords as f } from "../words/figures";
import { visitWords } from "../words/visit";
import { sentence, showDecimal } from "../words/words";
import { asNumber } from "../wire/records";
import type { Step } from "../records/run";

const w = visitWords.run;

const decimal = /^[-+]?[0-9.]+(e[-+]?[0-9]+)?$/i;

/**
 * amount shows a decimal with its unit. An answer in words, such as the name of a disc, stays as it
 * is.
 */
export function amount(v: string, unit: string): string {
  const shown = decimal.test(v) ? showDecimal(v) : v;
  return v === "" || unit === "" ? shown : `${shown}\u00a0${unit}`;
}

/** count reads a number of a step's plan, 0 where it has none. */
const count = (s: Step, name: string) => asNumber(s.plan[name]) ?? 0;

/**
 * The instruction for a step: what to do with its figures, its own words, and the limits on its
 * values.
 */
export type Instruction = { main: string; words: string; bounds: string[] };

/** rateOf writes the rate of a step, per minute if the plan says so. */
function rateOf(s: Step): string {
  if (s.figure("rate_per_min") !== "") return amount(s.figure("rate_per_min"), `${s.unit}/min`);
  return s.rate === "" ? "" : amount(s.rate, `${s.unit}/s`);
}

/** going says how a pressure is approached: the direction, from where, to where, and how fast. */
function going(s: Step): string {
  const mode = f.modes[s.figure("mode")] ?? "";
  const to = `${amount(s.target, s.unit)}${mode === "" ? "" : ` ${mode}`}`;
  const way =
    f.moves[s.figure("move")] ??
    f.moves[s.direction === "up" ? "raise" : s.direction === "down" ? "lower" : "set"] ??
    f.moves["set"];
  const from = s.figure("from") === "" || s.figure("move") === "stay" ? "" : amount(s.figure("from"), s.unit);
  const rate = s.figure("move") === "stay" ? "" : rateOf(s);
  return `${way?.(to, from) ?? to}${rate === "" ? "" : `, ${rate}`}`;
}

/** boundsOf lists the plan's limits on the values of a step. */
function boundsOf(s: Step): string[] {
  const list: string[] = [];
  const span =
    s.figure("low") !== "" && s.figure("high") !== ""
      ? `${showDecimal(s.figure("low"))} \u2026 ${amount(s.figure("high"), s.unit)}`
      : "";
  if (s.figure("most") !== "") list.push(f.most(amount(s.figure("most"), s.unit), s.figure("most_is") === "overload"));
  if (s.figure("at_standard") !== "") list.push(f.atStandard(amount(s.figure("at_standard"), s.unit)));
  if (s.figure("band_low") !== "")
    list.push(f.deadBand(`${showDecimal(s.figure("band_low"))} \u2026 ${amount(s.figure("band_high"), s.unit)}`));
  if (s.do === "ramp") {
    if (span) list.push((f.changeWithin[s.until] ?? f.allowed)(span));
  } else {
    if ((s.many || s.do === "hold" || s.do === "note") && s.figure("expected") !== "")
      list.push(f.testPressure(amount(s.figure("expected"), s.unit)));
    if (s.do === "read" && !s.many && s.of !== "applied" && s.figure("expected") !== "")
      list.push(f.should(amount(s.figure("expected"), s.unit)));
    if (s.do === "read" && span) list.push((s.of === "applied" ? f.allowed : f.may)(span));
    else if (s.figure("low") !== "") list.push(f.notBelow(amount(s.figure("low"), s.unit)));
    else if (s.figure("high") !== "") list.push(f.notAbove(amount(s.figure("high"), s.unit)));
  }
  if (s.figure("change") !== "")
    list.push(
      f.change(
        amount(s.figure("change"), s.unit),
        s.figure("change_limit") === "" ? "" : amount(s.figure("change_limit"), s.unit),
      ),
    );
  else if (s.figure("change_limit") !== "") list.push(f.changeLimit(amount(s.figure("change_limit"), s.unit)));
  if (s.figure("limit") !== "" || s.figure("limit_per_min") !== "")
    list.push(
      f.leakLimit(
        s.figure("limit") === "" ? "" : amount(s.figure("limit"), s.figure("limit_unit")),
        s.figure("limit_per_min") === "" ? "" : amount(s.figure("limit_per_min"), `${s.unit}/min`),
      ),
    );
  if (s.plan["unjudged"] === true) list.push(f.unjudged);
  if (count(s, "cycles") > 1)
    list.push((f.nth[s.figure("cycle_of")] ?? f.nth["cycle"])?.(count(s, "cycle"), count(s, "cycles")) ?? "");
  return list;
}

/**
 * tell puts a step into words. The plan's own words for it come beside its figures, not instead of
 * them.
 */
export function tell(s: Step, top: string): Instruction {
  const to = amount(s.target, s.unit);
  const bounds = boundsOf(s);
  switch (s.do) {
    case "exercise":
      return { main: w.exercise(s.count, to || top), words: s.text, bounds };
    case "vent":
      return { main: s.text || w.vent, words: "", bounds };
    case "set":
      return {
        main: going(s),
        words: s.text || (s.figure("move") === "stay" ? "" : (f.hints[s.direction] ?? "")),
        bounds,
      };
    case "ramp":
      return { main: going(s), words: s.text || f.until(w.untils[s.until] ?? s.until), bounds };
    case "hold":
      return { main: w.hold(visitWords.seconds(s.seconds)), words: s.text, bounds };
    case "settle":
      return {
        main:
          s.text ||
          w.settle(
            amount(s.within, s.unit),
            visitWords.seconds(s.seconds),
            s.atMost > 0 ? visitWords.seconds(s.atMost) : "",
          ),
        words: "",
        bounds,
      };
    case "read":
      return { main: s.text || w.readAt(to || amount(s.figure("expected"), s.unit)), words: "", bounds };
    case "ask":
      return { main: s.text, words: "", bounds };
    default:
      return { main: s.text || w.note, words: "", bounds };
  }
}

/** instruction writes a step in one line. top is the end of the instrument's range. */
export function instruction(s: Step, top: string): string {
  const { main, words } = tell(s, top);
  return words === "" ? main : `${main}. ${words}`;
}

/** nameOf names the value of a step in a list of values: what it is, and of which cycle. */
export function nameOf(s: Step): string {
  const own = sentence(s.figure("title")) || (s.target !== "" ? amount(s.target, s.unit) : s.figure("name") || s.text);
  const arrow = count(s, "series") > 0 ? ({ up: " \u2191", down: " \u2193" }[s.direction] ?? "") : "";
  const nth =
    count(s, "cycles") > 1 && s.figure("cycle_of") !== ""
      ? `, ${f.nthShort[s.figure("cycle_of")] ?? s.figure("cycle_of")} ${count(s, "cycle")}`
      : "";
  return `${own}${arrow}${nth}`;
}
