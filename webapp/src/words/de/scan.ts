import type { scanWords } from "../scan";

/** The texts of the scanner, in German. */
export const scan: typeof scanWords = {
  title: "Schild scannen",
  hint: "Den quadratischen Code des Schilds ins Bild halten.",
  stop: "Kamera ausschalten",
  refused: "Die Kamera ist hier nicht verfügbar. Die Messstelle eintippen oder ein Foto des Codes aufnehmen.",
  photo: "Foto eines Codes",
  nothing: "In diesem Bild wurde kein Code gefunden.",
  foreign: "Dieser Code gehört nicht zu diesem Programm. Er lautet:",
  light: "Licht",
};
