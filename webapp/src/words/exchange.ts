import { say } from "./language";
/** The texts of another instrument in the place of one, in English. */
export const exchangeWords = say("exchange", {
  title: "Replace by another instrument",
  hint: "The tag, area, place, method and cautions go to the other one. The visits stay with this one, since they are of it; it goes out of service under its serial number. One that was here before is found by its serial number, with its own visits.",
  serial: "Serial number of the other one",
  manufacturer: "Maker, if it is another",
  model: "Model, if it is another",
  same: "Range, limit and resolution are taken over: look at them on the next page.",
  go: "Replace",
  cancel: "Cancel",
});
