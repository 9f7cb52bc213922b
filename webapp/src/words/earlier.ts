import { say } from "./language";
/** The texts of results of the past that were brought in, in English. */
export const earlierWords = say("earlier", {
  title: "Brought in from before",
  hint: "From a sheet of the past. Nothing of it was done, signed or approved here; its errors count in the history and in the outlook.",
  certificate: (number: string, by: string) => ["certificate", number, by && `by ${by}`].filter(Boolean).join(" "),
  open: "Open the certificate",
  from: (sheet: string, line: string) => `${sheet}, line ${line}`,
});
