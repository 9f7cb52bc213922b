import { verify } from "./de/verify";

/** The texts of the page where anybody checks a certificate, in English. */
export const verifyEnglish = {
  title: "Check a certificate",
  lead: "Scan the code on the paper, or choose the certificate as PDF, XML or record file. Nothing you check leaves this device.",
  scan: "Scan the code",
  stop: "Stop the camera",
  refused: "The camera is not available here. Take a photo of the code, or open the page with the phone's camera.",
  photo: "Photo of the code",
  file: "Choose a file",
  drop: "or drop it here",
  nothing: "No code was found in that picture.",
  working: "Checking …",
  number: "Number",
  item: "Item",
  begins: "begins with",
  date: "Date of issue",
  found: "As found",
  left: "As left",
  print: "Fingerprint",
  none: "no such run",
  replaces: "Replaces",
  signed: "Signed by key",
  holds: {
    code: "The code is genuine. Compare it with the paper: number, item, date and verdicts must be the same.",
    pdf: "The PDF is as the laboratory signed it. Nothing in it was altered.",
    xml: "The XML and the paper in it are as the laboratory signed them. Nothing in them was altered.",
    record: "The record is as the laboratory signed it. Nothing in it was altered.",
  },
  replaced: (number: string) => `No longer valid: certificate ${number} replaces this one.`,
  another: "another certificate",
  ended: (day: string, why: string) => `The key that signed it is out of use since ${day}: ${why}.`,
  after: (day: string) => `Do not rely on it: the key that signed it was out of use when it was issued (${day}).`,
  bad: "Not valid.",
  why: {
    form: "It is no certificate of this kind, or it was altered.",
    seal: "The PDF has no seal of the laboratory, or the seal was cut off or altered.",
    bytes: "It was altered after it was signed.",
    key: "None of this laboratory's keys signed it.",
    evidence: "This is the whole record of the work. Check it with the program: gaugewright verify.",
    alone: "The XML has no paper in it. Check the XML that the laboratory gives out, or the PDF that contains it.",
  },
  unable:
    "This browser cannot check signatures of this kind (Ed25519), or the page was not opened by https. Use a newer browser, or the program: gaugewright verify.",
  unreached: "The laboratory's keys could not be fetched. Try again when there is a connection.",
  odd: "The laboratory's list of keys does not hold: it was altered on the way, or is another's. It says nothing of the certificate. Try again, or ask the laboratory.",
  keptFrom: (day: string) =>
    `Checked with the keys and the list of replaced certificates of ${day}; there is no connection now.`,
  shows:
    "This shows that nothing was altered since the laboratory signed it. It is no accreditation and no qualified electronic signature.",
};

/** inGerman says whether the device's language is German; this page asks nothing else. */
export const inGerman = typeof navigator !== "undefined" && /^de/i.test(navigator.language);

/** verifyWords are these texts in the language of the device. */
export const verifyWords: typeof verifyEnglish = inGerman ? verify : verifyEnglish;
