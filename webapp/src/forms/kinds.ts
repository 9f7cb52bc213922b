// One script with the forms of every kind, fetched when one of them is first needed.
export { EditItem } from "./edit-item";
export { EditKind } from "./edit-kind";
export { EditParticulars } from "./edit-particulars";
