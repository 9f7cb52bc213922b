/** The choice of a standard, with all objections to each. */
export const loadStandard = () => import("./standard").then((m) => m.ChooseStandard);
/** The surroundings, and the column between standard and instrument. */
export const loadSurroundings = () => import("./standard").then((m) => m.Surroundings);

/** Questions and lists of values, whose code a gauge's visit does not need. */
export const loadAnswer = () => import("./asked").then((m) => m.Answer);
export const loadMany = () => import("./asked").then((m) => m.Many);
