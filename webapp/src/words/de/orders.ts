import type { ordersWords } from "../orders";

/** The texts of work orders, in German. */
export const orders: typeof ordersWords = {
  title: "Arbeitsaufträge",
  order: (number) => `Auftrag ${number}`,
  wanted: (day) => `gewünscht bis ${day}`,
  from: (system) => `von ${system}`,
  priorities: { urgent: "dringend", soon: "bald", normal: "" },
};
