import { say } from "./language";

/** The texts of work orders, in English. */
export const ordersWords = say("orders", {
  title: "Work orders",
  order: (number: string) => `Order ${number}`,
  wanted: (day: string) => `wanted by ${day}`,
  from: (system: string) => `from ${system}`,
  priorities: { urgent: "urgent", soon: "soon", normal: "" } as Record<string, string>,
});
