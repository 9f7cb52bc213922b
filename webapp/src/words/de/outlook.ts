import type { outlookWords } from "../outlook";

/** The texts about what an instrument's past says of its future, in German. */
export const outlook: typeof outlookWords = {
  title: "Was zu erwarten ist",
  little: "Zu wenig Vorgeschichte: eine Vorhersage braucht drei Ergebnisse im Eingangszustand zwischen Justierungen.",
  expected: (date: string, point: string, error: string) =>
    `Am ${date} ist bei ${point} eine Abweichung von ${error} zu erwarten`,
  band: (low: string, high: string) => `zwischen ${low} und ${high} mit 95 % Wahrscheinlichkeit`,
  outside: (p: string) => `Wahrscheinlichkeit, außerhalb der Fehlergrenze zu liegen: ${p}`,
  slope: (s: string) => `sie ändert sich um ${s} im Jahr`,
  due: (date: string, point: string) =>
    `Ab ${date} über 5 % Wahrscheinlichkeit, außerhalb zu liegen, zuerst bei ${point}.`,
  past: (date: string, point: string) =>
    `Seit ${date} liegt die Wahrscheinlichkeit, außerhalb zu sein, über 5 %, zuerst bei ${point}.`,
  chart: (point: string) =>
    `Abweichungen im Eingangszustand bei ${point} über die Jahre, die Fehlergrenzen und was zu erwarten ist`,
  now: "erwartet",
  interval: "Prüfabstand",
  advice: (action: string, reason: string, method: string, months: string, by: string) => {
    const why =
      {
        outside: "die zuletzt festgestellte Abweichung lag außerhalb der Fehlergrenze",
        bound:
          method === "forecast"
            ? "nach der Vorhersage liegen mehr als 5 % außerhalb, bevor ein Prüfabstand endet"
            : "von Geräten wie diesem liegen mehr als 5 % außerhalb, bevor ein Prüfabstand endet",
        now: "nach einer Justierung ist der Prüfabstand kurz genug, so wie es jetzt ist, nicht",
        close: "die zuletzt festgestellte Abweichung lag über 80 % der Fehlergrenze",
        room: "er ist kurz genug, und anderthalbmal so lang wäre er es nicht",
        alone: "die Vorhersage trüge einen längeren; was Geräte wie dieses tragen, sieht das Büro",
        little: "für mehr gibt es zu wenige Ergebnisse",
        shortest: "kürzer wird er nicht",
      }[reason] ?? reason;
    if (action === "reduce") return `Auf ${months} Monate verkürzen: ${why}.`;
    if (action === "sooner") return `Beibehalten und dieses Mal früher prüfen oder justieren, bis zum ${by}: ${why}.`;
    if (action === "extend") return `Er darf auf ${months} Monate verlängert werden: ${why}.`;
    return `Beibehalten: ${why}.`;
  },
  present: (months: string) => `Jetzt ${months} Monate.`,
  kin: "Mit ähnlichen Geräten vergleichen",
  counted: (passed: number, of: number) =>
    `${passed} von ${of} Ergebnissen im Eingangszustand mit dieser Fehlergrenze und diesem Prüfabstand lagen innerhalb.`,
  fewKin: "Mindestens 20 sind nötig, bevor ein Prüfabstand darauf ruhen kann.",
  warning: "Hinweis",
};
