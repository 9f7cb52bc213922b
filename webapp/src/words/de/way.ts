import type { wayWords } from "../way";

/** The words of the way that a programme's run took, in German. */
export const way: typeof wayWords = {
  way: (reasons: number, flags: number) =>
    `Wie es zu diesem Schritt kam: ${[reasons === 1 ? "1 Entscheidung" : `${reasons} Entscheidungen`, flags === 0 ? "" : flags === 1 ? "1 Bemerkung" : `${flags} Bemerkungen`].filter(Boolean).join(", ")}`,
  chart: "Die Messwerte über der Zeit des Durchgangs",
  stopped: (why: string) => `Das Programm hat angehalten: ${why}`,
};
