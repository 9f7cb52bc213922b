// What stops the work, and the questions before it that can.
export { against, everyAgainst } from "../../records/against";
export { BeforeStop, Connected, SafetyStop } from "./halt";
export { Service } from "./service";
export { Cautions, Identity } from "./start";
