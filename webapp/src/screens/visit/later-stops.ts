/** What stops the work, and the questions before it that can. */
export const loadCautions = () => import("./stopping").then((m) => m.Cautions);
export const loadIdentity = () => import("./stopping").then((m) => m.Identity);
export const loadService = () => import("./stopping").then((m) => m.Service);
export const loadSafetyStop = () => import("./stopping").then((m) => m.SafetyStop);
export const loadBeforeStop = () => import("./stopping").then((m) => m.BeforeStop);
export const loadConnected = () => import("./stopping").then((m) => m.Connected);
export const against = async (...asked: Parameters<typeof import("./stopping").against>) =>
  (await import("./stopping")).against(...asked);
export const everyAgainst = async (...asked: Parameters<typeof import("./stopping").everyAgainst>) =>
  (await import("./stopping")).everyAgainst(...asked);
