import type { outlookWords } from "../outlook";

/** The texts about what an instrument's past says of its future, in German. */
export const outlook: typeof outlookWords = {
  title: "Was zu erwarten ist",
  little: "Zu wenig Vorgeschichte: eine Vorhersage braucht drei vorgefundene Ergebnisse zwischen Justierungen.",
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
    `Bei ${point} vorgefundene Abweichungen über die Jahre, die Fehlergrenzen und was zu erwarten ist`,
  now: "erwartet",
  interval: "Prüfabstand",
  actions: {
    "reduce outside": "Die zuletzt vorgefundene Abweichung lag außerhalb der Fehlergrenze: den Prüfabstand verkürzen.",
    "reduce forecast": "Die Vorhersage überschreitet 5 % vor dem Fälligkeitstag: den Prüfabstand verkürzen.",
    "keep close": "Die zuletzt vorgefundene Abweichung lag nahe der Fehlergrenze: den Prüfabstand beibehalten.",
    "keep forecast": "Die Vorhersage hält bis zum Fälligkeitstag, aber nicht viel länger: den Prüfabstand beibehalten.",
    "extend steady":
      "Die letzte Abweichung war klein, und die Vorhersage hält weit über den Fälligkeitstag hinaus: der Prüfabstand darf länger sein.",
    extend:
      "Allein aus dem letzten Ergebnis: es lag innerhalb 80 % der Fehlergrenze, also darf der Prüfabstand länger sein.",
    keep: "Allein aus dem letzten Ergebnis: es lag nahe der Fehlergrenze, also den Prüfabstand beibehalten.",
    reduce: "Allein aus dem letzten Ergebnis: es lag außerhalb der Fehlergrenze, also den Prüfabstand verkürzen.",
  },
  present: (months: string) => `Jetzt ${months} Monate.`,
  kin: "Mit ähnlichen Geräten vergleichen",
  counted: (passed: number, of: number) =>
    `${passed} von ${of} vorgefundenen Ergebnissen mit dieser Fehlergrenze und diesem Prüfabstand lagen innerhalb.`,
  months: (m: string, target: string) =>
    `Über alle gezählt liegen ${target} innerhalb, wenn nach etwa ${m} Monaten geprüft wird. Der Rat oben kommt allein von diesem Gerät.`,
  fewKin: (n: number) => `Nur ${n} Ergebnisse: für einen Prüfabstand sind mindestens 20 nötig.`,
  warning: "Hinweis",
};
