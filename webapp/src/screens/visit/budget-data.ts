import { asNumber, asObject, asText, type Json } from "../../wire/records";
import { showDecimal } from "../../words/words";

type Doc = { [name: string]: Json };

/** One line of a budget as it is shown. */
export type Line = { term: string; value: number; shape: string; divisor: number; sensitivity: number; contribution: number; share: number; from: string };

/** What a finding says of the uncertainty at a point. */
export type PointBudget = {
  point: string;
  expanded: number;
  k: number;
  u: number;
  dof: number | undefined;
  ratio: number | undefined;
  probability: number | undefined;
  risk: number | undefined;
  lines: Line[];
};

/** How a point's pressure was corrected: as typed, as judged, and what of it came from where, in the unit of the table. */
export type Moved = { point: string; typed: string; judged: number; total: number; level: number; certificate: number };

const docs = (v: Json | undefined): Doc[] => (Array.isArray(v) ? v.map(asObject) : []);

/** budgetsOf reads the budget of every point of a finding that states an uncertainty; what stands once for all points is put into each line. */
export function budgetsOf(finding: Doc): PointBudget[] {
  const legend = new Map(docs(asObject(finding["gauge"])["terms"]).map((t) => [asText(t["term"]), t]));
  return docs(finding["points"]).flatMap((p) => {
    const expanded = asNumber(p["expanded"]);
    const u = asNumber(p["u"]);
    if (expanded === undefined || u === undefined || expanded <= 0) return [];
    const lines = docs(p["budget"]).map((l) => {
      const common = legend.get(asText(l["term"])) ?? {};
      return {
        term: asText(l["term"]),
        value: asNumber(l["value"]) ?? 0,
        shape: asText(l["shape"] ?? common["shape"]),
        divisor: asNumber(l["divisor"] ?? common["divisor"]) ?? 1,
        sensitivity: asNumber(l["sensitivity"]) ?? 1,
        contribution: asNumber(l["contribution"]) ?? 0,
        share: asNumber(l["share"]) ?? 0,
        from: asText(l["from"] ?? common["from"]),
      };
    });
    lines.sort((a, b) => b.share - a.share);
    return [
      {
        point: asText(p["point"]),
        expanded,
        k: asNumber(p["k"]) ?? 2,
        u,
        dof: asNumber(p["dof"]),
        ratio: asNumber(p["ratio"]),
        probability: asNumber(p["probability"]),
        risk: asNumber(p["risk"]),
        lines,
      },
    ];
  });
}

/** expandedOf gives the expanded uncertainty of each test point of a finding that states one, by the point as a plain number. */
export function expandedOf(finding: Doc): Map<number, number> {
  return new Map(budgetsOf(finding).map((p) => [Number(p.point), p.expanded]));
}

/** sizesOf reads how the pressures of a finding were corrected; a pascal is `unit` pascals large. */
export function sizesOf(finding: Doc, pascals: number | undefined): Moved[] {
  const gauge = asObject(finding["gauge"]);
  const one = asNumber(gauge["head_correction_pa"]);
  const low = asNumber(gauge["head_correction_low_pa"]);
  const seen = new Set<string>();
  return docs(finding["readings"]).flatMap((r) => {
    const typed = asObject(r["typed"]);
    const judged = asNumber(r["applied"]);
    const point = asText(r["point"]);
    if (Object.keys(typed).length === 0 || judged === undefined || seen.has(point)) return [];
    seen.add(point);
    const was = docs(finding["points"]).find((p) => asNumber(p["point"]) === asNumber(point));
    const at = asNumber(was?.["typed"]) ?? judged;
    const total = judged - at;
    const level = one === undefined || low !== undefined || pascals === undefined ? 0 : one / pascals;
    return [{ point, typed: asText(typed["applied"]) || asText(typed["indicated"]), judged, total, level, certificate: low === undefined ? total - level : 0 }];
  });
}

/** showSmall writes a size with two digits that count, as uncertainties are stated. */
export function showSmall(u: number | undefined): string {
  return showTo(u, 2);
}

/** showTo writes a number with some digits that count, without an exponent where that stays short. */
export function showTo(x: number | undefined, digits: number): string {
  if (x === undefined) return "";
  const rounded = Number(x.toPrecision(digits));
  const places = x === 0 ? 0 : Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(rounded))));
  return places > 12 ? showDecimal(x.toExponential(digits - 1)) : showDecimal(rounded.toFixed(places));
}

/** showNear writes a pressure with one digit more than its uncertainty counts, or as it is where that is short or no uncertainty is known. */
export function showNear(x: number, expanded: number | undefined): string {
  const exact = String(x);
  if (expanded === undefined || !(expanded > 0)) return exact.length <= 9 ? showDecimal(exact) : showTo(x, 6);
  const places = Math.min(12, Math.max(0, 2 - Math.floor(Math.log10(expanded))));
  const short = x.toFixed(places);
  const shown = short.length < exact.length ? short : exact;
  return showDecimal(Number(shown) === 0 ? shown.replace("-", "") : shown);
}

/** showShare writes a share or a probability in per cent; what is too small to be told from nothing is said so. */
export function showShare(share: number | undefined): string {
  if (share === undefined) return "";
  const percent = share * 100;
  if (percent === 0) return "0 %";
  if (percent > 0 && percent < 0.1) return `< ${showDecimal("0.1")} %`;
  if (percent < 100 && percent > 99.9) return `> ${showDecimal("99.9")} %`;
  return `${showDecimal(percent >= 10 ? percent.toFixed(0) : percent.toFixed(1))} %`;
}
