import type { aheadWords } from "../ahead";

/** What the technician's day says of the coming days, in German. */
export const ahead: typeof aheadWords = {
  tookBack: (title: string, why: string) =>
    `Das Büro hat den Rundgang „${title}“ zurückgenommen: ${why} Was davon begonnen ist, bleibt und kann beendet werden.`,
  leftOut: "Diese hat das Büro aus dem Rundgang genommen; was davon begonnen ist, bleibt.",
  stops: (n: number) => (n === 1 ? "1 Gerät" : `${n} Geräte`),
  comingTitle: "Die nächsten Tage",
};
