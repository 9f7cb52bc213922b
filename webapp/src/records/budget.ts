import type { Json } from "../wire/records";
import { showDecimal } from "../words/words";
import { findingOf } from "./finding";

type Doc = { [name: string]: Json };

/** One line of a budget as it is shown. */
export type Line = {
  term: string;
  value: number;
  shape: string;
  divisor: number;
  sensitivity: number;
  contribution: number;
  share: number;
  from: string;
};

/** What a finding says about the uncertainty at a point. */
export type PointBudget = {
  point: string;
  expanded: number;
  /** For a reading in one direction: without the difference between rising and falling. */
  ofReading: number;
  k: number;
  u: number;
  dof: number | undefined;
  ratio: number | undefined;
  probability: number | undefined;
  risk: number | undefined;
  lines: Line[];
};

/**
 * budgetsOf reads the budget of every point of a finding that states an uncertainty. Values stated
 * once for all points go into each line.
 */
export function budgetsOf(finding: Doc): PointBudget[] {
  const { gauge, points = [] } = findingOf(finding, "gauge");
  const legend = new Map((gauge?.terms ?? []).map((t) => [t.term, t]));
  return points.flatMap(
    ({ point, expanded, expanded_reading, k = 2, u, dof, ratio, probability, risk, budget = [] }) => {
      if (expanded === undefined || u === undefined || expanded <= 0) return [];
      const lines = budget.map((l) => {
        const common = legend.get(l.term);
        return {
          term: l.term ?? "",
          value: l.value ?? 0,
          shape: l.shape ?? common?.shape ?? "",
          divisor: l.divisor ?? common?.divisor ?? 1,
          sensitivity: l.sensitivity ?? 1,
          contribution: l.contribution ?? 0,
          share: l.share ?? 0,
          from: l.from ?? common?.from ?? "",
        };
      });
      lines.sort((a, b) => b.share - a.share);
      return [
        {
          point: String(point ?? ""),
          expanded,
          ofReading: expanded_reading ?? expanded,
          k,
          u,
          dof,
          ratio,
          probability,
          risk,
          lines,
        },
      ];
    },
  );
}

/**
 * expandedOf gives the expanded uncertainty of a reading at each test point of a finding that
 * states one, by the point as a plain number.
 */
export function expandedOf(finding: Doc): Map<number, number> {
  return new Map(budgetsOf(finding).map((p) => [Number(p.point), p.ofReading]));
}

/**
 * showSmall writes a size with two significant digits. The rule for rounding an uncertainty and its
 * value is in the calculation figures; a test compares the two.
 */
export function showSmall(u: number | undefined): string {
  return showTo(u, 2);
}

/** showTo writes a number with some significant digits, without an exponent if that is short. */
export function showTo(x: number | undefined, digits: number): string {
  if (x === undefined) return "";
  const rounded = Number(x.toPrecision(digits));
  const places = x === 0 ? 0 : Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(rounded))));
  return places > 12 ? showDecimal(x.toExponential(digits - 1)) : showDecimal(rounded.toFixed(places));
}

/** showExact writes an exact number: as it is if that is short, else with six digits. */
export function showExact(x: number): string {
  const exact = String(x);
  return exact.length <= 9 ? showDecimal(exact) : showTo(x, 6);
}

/**
 * showShare writes a share or a probability in per cent. A value too small to differ from zero is
 * shown as such.
 */
export function showShare(share: number | undefined): string {
  if (share === undefined) return "";
  const percent = share * 100;
  if (percent === 0) return "0 %";
  if (percent > 0 && percent < 0.1) return `< ${showDecimal("0.1")} %`;
  if (percent < 100 && percent > 99.9) return `> ${showDecimal("99.9")} %`;
  return `${showDecimal(percent >= 10 ? percent.toFixed(0) : percent.toFixed(1))} %`;
}
