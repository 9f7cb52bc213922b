import type { calculateWords } from "../calculate";

/** The texts of the office's own calculations of uncertainty, in German. */
export const calculate: typeof calculateWords = {
  title: "Rechnen",
  menu: "Berechnungen",
  parts: { observations: "Beobachtungen", line: "Gerade", model: "Formel" },
  hints: {
    observations:
      "Größen, die mehrmals beobachtet wurden. Die zusammen beobachteten, eine Reihe nach der anderen, haben eine Korrelation.",
    line: "Punkte einer Kurve, die als Gerade gilt: y = a + b x. Ohne eingetippte Unsicherheit ergibt sie sich aus der Streuung; sonst eine zu jedem y und, wo sie zählt, zu jedem x.",
    model:
      "Eine Größe, die aus anderen durch eine Formel folgt: + - * / ^, Klammern, sqrt, exp, ln, log10, sin, cos, tan, abs, min, max und pi.",
  },
  go: "Rechnen",
  result: "Ergebnis",
  use: "In einer Formel verwenden",
  warnings: "Zu beachten",
  observations: {
    caption: "Mittelwerte",
    columns: ["Größe", "n", "Mittelwert", "s", "u des Mittelwerts", "Freiheitsgrade"],
    correlations: "Korrelationen",
    between: (a: string, b: string) => `${a} und ${b}`,
  },
  line: {
    caption: "Die Gerade y = a + b x",
    intercept: "a",
    slope: "b",
    parameter: "Parameter",
    correlation: "Korrelation von a und b",
    scatter: "Standardabweichung um die Gerade",
    dof: "Freiheitsgrade",
    chi: "Chi-Quadrat und die Wahrscheinlichkeit eines größeren",
    at: "Auf der Geraden",
    columns: ["x", "y", "u", "U"],
    k: (k: string) => `U mit k = ${k}`,
    value: "Wert",
    u: "u",
  },
  model: {
    value: (y: string, expanded: string, k: string) => `${y} \u00b1 ${expanded}, k = ${k}`,
    u: (u: string) => `Standardunsicherheit ${u}`,
    dof: (n: string) => `effektive Freiheitsgrade ${n}`,
    caption: "Messunsicherheitsbudget",
    columns: ["Größe", "Wert", "u", "Empfindlichkeit", "Beitrag", "Anteil"],
    trials: "Versuche",
    trialsOf: (n: string) => `${n} Versuche`,
    unstable: "Die Ergebnisse sind auch nach der größten Zahl von Versuchen noch nicht stabil.",
    mean: "Mittelwert",
    sd: "Standardabweichung",
    symmetric: "Intervall mit gleich viel auf jeder Seite",
    shortest: "Kürzestes Intervall",
    agrees: "Das Fortpflanzungsgesetz stimmt mit den Versuchen überein.",
    differs: "Das Fortpflanzungsgesetz weicht von den Versuchen ab: das Intervall der Versuche angeben.",
    to: (low: string, high: string) => `${low} bis ${high}`,
  },
};
