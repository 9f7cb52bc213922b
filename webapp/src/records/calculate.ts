import type { LineOutput, ObservationsOutput } from "../wire/calculations.gen";
import type { Json } from "../wire/records";

type Doc = { [name: string]: Json };

/** What a form of the calculations says beyond the document: how an uncertainty is given. */
const how = "how";

/** The trials that a person asks for: the same ones each time, to two digits that count. */
const trials = { seed: 1, digits: 2 };

/** modelOf turns what was typed of a formula into what the calculation model takes. */
export function modelOf(typed: Doc): Doc {
  const quantities = Array.isArray(typed["quantities"]) ? typed["quantities"] : [];
  const { trials: wanted, ...rest } = typed;
  return {
    ...rest,
    quantities: quantities.map((q) =>
      Object.fromEntries(Object.entries(q as Doc).filter(([name, v]) => name !== how && v !== "")),
    ),
    ...(wanted === true ? { trials } : {}),
  };
}

/**
 * quantitiesOf puts observed means to use in a formula. Of those that were observed together the
 * degrees of freedom are left out, since the effective ones hold for independent terms.
 */
export function quantitiesOf({ series, correlations }: ObservationsOutput): Doc {
  const together = series.length > 1;
  return {
    formula: series.map((s) => s.name).join(" + "),
    quantities: series.map((s) => ({
      name: s.name,
      value: String(s.mean),
      u: String(s.u),
      ...(together ? {} : { dof: String(s.dof) }),
    })),
    correlations: correlations.map((c) => ({ a: c.a, b: c.b, r: String(c.r) })),
  };
}

/** lineOf puts a line to use in a formula: y at an x that is to be typed. */
export function lineOf(line: LineOutput): Doc {
  return {
    formula: "a + b*x",
    quantities: [
      { name: "a", value: String(line.intercept), u: String(line.u_intercept) },
      { name: "b", value: String(line.slope), u: String(line.u_slope) },
      { name: "x" },
    ],
    correlations: [{ a: "a", b: "b", r: String(line.correlation) }],
  };
}
