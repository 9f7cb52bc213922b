/** The choice of a standard, with all that speaks against one. */
export const loadStandard = () => import("./standard").then((m) => m.ChooseStandard);

/** Questions and lists of values, whose code a gauge's visit does not need. */
export const loadAnswer = () => import("./asked").then((m) => m.Answer);
export const loadMany = () => import("./asked").then((m) => m.Many);
export const loadResults = () => import("./asked").then((m) => m.OwnResults);
export const loadWarnings = () => import("./asked").then((m) => m.Warnings);
