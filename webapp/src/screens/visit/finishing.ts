// What follows a run or replaces one: the result and the next step, remarks and photos, the signed
// visit.
export { Adjusted } from "./adjusted";
export { ListBypasses } from "./bypasses";
export { Done, Finish } from "./finish";
export { Untested } from "./untested";
export { SinceFailure } from "./what-now";
