/** What follows a run, or replaces one. */
export const loadAdjusted = () => import("./finishing").then((m) => m.Adjusted);
export const loadBypasses = () => import("./finishing").then((m) => m.ListBypasses);
export const loadDone = () => import("./finishing").then((m) => m.Done);
export const loadFinish = () => import("./finishing").then((m) => m.Finish);
export const loadUntested = () => import("./finishing").then((m) => m.Untested);
export const loadSince = () => import("./finishing").then((m) => m.SinceFailure);
