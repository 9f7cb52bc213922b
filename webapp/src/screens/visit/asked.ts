// What a gauge's visit seldom needs, fetched when it first does.
export { Amend } from "./amend";
export { Answer } from "./answer";
export { Join } from "./join";
export { Many } from "./many";
export { Sign } from "./sign";
