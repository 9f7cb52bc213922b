/** The texts and forms of the office's own calculations of uncertainty, in English. */
import type { Field } from "./field";
import { inLanguage } from "./in-language";
import { say } from "./language";

const text = (name: string, label: string, hint?: string): Field => ({
  name,
  label,
  as: "text",
  needed: true,
  ...(hint ? { hint } : {}),
});
const number = (name: string, label: string, more: { needed?: true; hint?: string; when?: Field["when"] } = {}) =>
  ({
    name,
    label,
    as: "number",
    ...(more.needed ? { needed: true } : {}),
    ...(more.hint ? { hint: more.hint } : {}),
    ...(more.when ? { when: more.when } : {}),
  }) as Field;

const coverage = number("coverage", "Coverage probability", { hint: "such as 0.95; k = 2 where nothing is typed" });

/** The choice that only the form has: how an uncertainty is given. */
const howField = "how";

export const calculateWords = say("calculate", {
  title: "Calculate",
  menu: "Calculations",
  parts: { observations: "Observations", line: "Straight line", model: "Formula" },
  hints: {
    observations:
      "Quantities that were observed several times. Those that were observed together, one set after the other, have a correlation.",
    line: "Points of a curve that is taken for a straight line: y = a + b x. Type no uncertainty, and the scatter gives it; or one of each y, and of each x where it counts.",
    model:
      "A quantity that follows from others by a formula: + - * / ^, parentheses, sqrt, exp, ln, log10, sin, cos, tan, abs, min, max and pi.",
  },
  go: "Calculate",
  result: "Result",
  use: "Use in a formula",
  warnings: "Warnings",
  observations: {
    caption: "Means",
    columns: ["Quantity", "n", "Mean", "s", "u of the mean", "Degrees of freedom"],
    correlations: "Correlations",
    between: (a: string, b: string) => `${a} and ${b}`,
  },
  line: {
    caption: "The line y = a + b x",
    intercept: "a",
    slope: "b",
    parameter: "Parameter",
    correlation: "Correlation of a and b",
    scatter: "Standard deviation about the line",
    dof: "Degrees of freedom",
    chi: "Chi-squared, and the probability of a larger one",
    at: "On the line",
    columns: ["x", "y", "u", "U"],
    k: (k: string) => `U with k = ${k}`,
    value: "Value",
    u: "u",
  },
  model: {
    value: (y: string, expanded: string, k: string) => `${y} \u00b1 ${expanded}, k = ${k}`,
    u: (u: string) => `standard uncertainty ${u}`,
    dof: (n: string) => `effective degrees of freedom ${n}`,
    caption: "Budget",
    columns: ["Quantity", "Value", "u", "Sensitivity", "Contribution", "Share"],
    trials: "Trials",
    trialsOf: (n: string) => `${n} trials`,
    unstable: "The results are not stable after the maximum number of trials.",
    mean: "Mean",
    sd: "Standard deviation",
    symmetric: "Interval with as much on either side",
    shortest: "Shortest interval",
    agrees: "The law of propagation agrees with the trials.",
    differs: "The law of propagation differs from the trials: state the interval of the trials.",
    to: (low: string, high: string) => `${low} to ${high}`,
  },
});

const quantity: readonly Field[] = [
  text("name", "Name", "as in the formula"),
  number("value", "Value", { needed: true }),
  {
    name: howField,
    label: "Its uncertainty is known as",
    as: "choice",
    usual: "u",
    options: [
      ["u", "standard uncertainty"],
      ["half_width", "half-width of limits"],
      ["expanded", "expanded uncertainty"],
    ],
  },
  number("u", "Standard uncertainty", { needed: true, when: { field: howField, is: ["u"] } }),
  number("half_width", "Half-width", { needed: true, when: { field: howField, is: ["half_width"] } }),
  {
    name: "shape",
    label: "Between its limits",
    as: "choice",
    when: { field: howField, is: ["half_width"] },
    needed: true,
    options: [
      ["rectangular", "all alike"],
      ["triangular", "the middle most"],
      ["arcsine", "the ends most, as of a swing"],
    ],
  },
  number("expanded", "Expanded uncertainty", { needed: true, when: { field: howField, is: ["expanded"] } }),
  number("k", "Its k", { needed: true, when: { field: howField, is: ["expanded"] } }),
  number("dof", "Degrees of freedom", { hint: "empty: well known" }),
];

const forms = {
  observations: [
    {
      name: "series",
      label: "Quantities",
      as: "list",
      needed: true,
      most: 50,
      item: (n: number) => `Quantity ${n}`,
      fields: [
        text("name", "Name", "a short one, to use it in a formula"),
        {
          name: "values",
          label: "Observations",
          as: "numbers",
          needed: true,
          hint: "in their order, with spaces between",
        },
      ],
    },
  ],
  line: [
    {
      name: "points",
      label: "Points",
      as: "list",
      needed: true,
      most: 1000,
      item: (n: number) => `Point ${n}`,
      fields: [
        number("x", "x", { needed: true }),
        number("y", "y", { needed: true }),
        number("uy", "u of y"),
        number("ux", "u of x"),
        number("r", "Correlation of the two"),
      ],
    },
    { name: "at", label: "Values of x to know y at", as: "numbers", hint: "with spaces between" },
    coverage,
  ],
  model: [
    text("formula", "Formula", "such as V/I*cos(phi)"),
    {
      name: "quantities",
      label: "Quantities",
      as: "list",
      needed: true,
      most: 50,
      item: (n: number) => `Quantity ${n}`,
      fields: quantity,
    },
    {
      name: "correlations",
      label: "Correlations",
      as: "list",
      most: 200,
      item: (n: number) => `Correlation ${n}`,
      fields: [text("a", "Of"), text("b", "and"), number("r", "r", { needed: true })],
    },
    coverage,
    { name: "trials", label: "Trials as well, after JCGM 101", as: "flag" },
  ],
} satisfies { [part: string]: readonly Field[] };

export const calculateForms: { [part in keyof typeof forms]: readonly Field[] } = {
  observations: inLanguage(forms.observations as readonly Field[]),
  line: inLanguage(forms.line as readonly Field[]),
  model: inLanguage(forms.model as readonly Field[]),
};

export type CalculatePart = keyof typeof calculateForms;
