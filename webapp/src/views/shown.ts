// What a result shows besides a gauge's table, fetched when one is opened.
export { OwnResults } from "./results";
export { Warnings } from "./warnings";
export { AfterFacts } from "./after-facts";
