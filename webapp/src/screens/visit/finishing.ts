// What follows a run or replaces one: the result and the way on, remarks and photos,
// what was signed.
export { Adjusted } from "./adjusted";
export { ListBypasses } from "./bypasses";
export { Done, Finish } from "./finish";
export { Untested } from "./untested";
export { SinceFailure } from "./what-now";
