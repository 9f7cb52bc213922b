import type { LineOutput, ObservationsOutput } from "../wire/calculations.gen";
import type { Json } from "../wire/records";

type Doc = { [name: string]: Json };

/** The form's field for how an uncertainty is given, which is not part of the document. */
const how = "how";

/**
 * The Monte Carlo trials for a person's request: the same ones each time, to two significant
 * digits.
 */
const trials = { seed: 1, digits: 2 };

/** modelOf turns a typed formula into the input of the calculation model. */
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
 * quantitiesOf makes observed means available to a formula. It leaves out the degrees of freedom of
 * means observed together, since effective ones hold for independent terms only.
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

/** lineOf makes a line available to a formula: y at an x that is to be typed. */
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
