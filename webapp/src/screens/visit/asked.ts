// What a gauge's visit never asks for, fetched when a plan first does.
export { Answer } from "./answer";
export { Many } from "./many";
export { OwnResults } from "./results";
