export const loadResults = () => import("./shown").then((m) => m.OwnResults);
export const loadWarnings = () => import("./shown").then((m) => m.Warnings);
export const loadFacts = () => import("./shown").then((m) => m.AfterFacts);
