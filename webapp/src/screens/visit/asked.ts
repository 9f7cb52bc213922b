// What a gauge's visit seldom asks for, fetched when it first does.
export { Amend } from "./amend";
export { Answer } from "./answer";
export { Many } from "./many";
export { OwnResults } from "./results";
export { Sign } from "./sign";
export { Warnings } from "./warnings";
