import { say } from "./language";

/** The texts about what instruments of other kinds than gauges are, in English. */
export const particularsWords = say("particulars", {
  volume: "Volume",
  addedVolume: "Known volume, connected to measure it",
  litres: (n: string) => `${n} L`,
  contact: (name: string) => `Contact ${name}`,
  acts: { rising: "acts rising at", falling: "acts falling at" } as Record<string, string>,
  deadBand: (low: string, high: string) => `dead band ${low} to ${high}`,
  safe: (side: string) => `safe state ${side}`,
  safety: "safety function",
  pressures: {
    marked: "Marked burst pressure",
    requested: "Requested burst pressure",
    full_scale: "Sensor's full scale",
  },
  manufacturing: "Manufacturing range",
  texts: { lot: "Lot", lot_size: "Discs in the lot", material: "Material" },
  coincident: "Coincident temperature",
  weakest: "Weakest part",
});
