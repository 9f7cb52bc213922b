import { cautionWords } from "./cautions";
import type { Field } from "./field";
import { inLanguage } from "./in-language";
import { kindsWords as w } from "./kinds";

const number = (name: string, label: string, more: { unit?: string; hint?: string; needed?: true } = {}): Field => ({
  name,
  label,
  as: "number",
  ...more,
});
const text = (name: string, label: string, more: { hint?: string; needed?: true } = {}): Field => ({
  name,
  label,
  as: "text",
  ...more,
});

/**
 * The facts of an instrument's record that the office keeps; what it is of its kind has a form of
 * its own.
 */
export const itemForm: readonly Field[] = inLanguage([
  text("tag", "Tag", { needed: true }),
  text("serial", "Serial number"),
  text("description", "Description"),
  {
    name: "kind",
    label: "Kind of instrument",
    as: "choice",
    usual: "",
    needed: true,
    options: Object.entries(w.things),
  },
  {
    name: "range",
    label: "Range",
    as: "group",
    needed: true,
    fields: [
      number("low", "Low end", { needed: true }),
      number("high", "High end", { needed: true }),
      text("unit", "Unit", { needed: true, hint: "such as bar, kPa, psi; ft, kt or ft/min" }),
      {
        name: "mode",
        label: "Kind of pressure",
        as: "choice",
        usual: "",
        options: [
          ["gauge", "gauge: zero when vented"],
          ["absolute", "absolute"],
          ["differential", "differential"],
        ],
      },
    ],
  },
  number("resolution", "Resolution", { hint: "in the unit of the range" }),
  number("overload", "Overload limit", {
    hint: "the highest pressure that it bears, in the unit of the range; from its dial or data sheet",
  }),
  {
    name: "limit",
    label: "Limit",
    as: "group",
    hint: "The permissible error of a gauge or transmitter.",
    fields: [
      {
        name: "rule",
        label: "By",
        as: "choice",
        usual: "",
        options: [
          ["", "nothing"],
          ["en837", "class of EN 837-1"],
          ["b40.100", "grade of ASME B40.100"],
          ["gb1226", "class of GB/T 1226"],
          ["terms", "stated limits"],
        ],
      },
      number("class", "Class", { hint: "such as 1.6" }),
      text("grade", "Grade", { hint: "such as 2A" }),
      { name: "stop_pin", label: "The pointer rests on a stop pin", as: "flag" },
      number("of_span_percent", "Of span", { unit: "%" }),
      number("of_reading_percent", "Of reading", { unit: "%" }),
      number("absolute", "Plus or minus", { hint: "in the unit of the range" }),
    ],
  },
  {
    name: "output",
    label: "Output",
    as: "group",
    switch: "It has a signal output",
    fields: [
      number("low", "Signal at the low end", { needed: true }),
      number("high", "Signal at the high end", { needed: true }),
      {
        name: "unit",
        label: "Signal in",
        as: "choice",
        needed: true,
        options: [
          ["mA", "mA"],
          ["V", "V"],
        ],
      },
      {
        name: "law",
        label: "Characteristic",
        as: "choice",
        usual: "linear",
        options: [
          ["linear", "linear"],
          ["square-root", "square root"],
        ],
      },
      number("resolution", "Resolution of the signal", { hint: "in the unit of the signal" }),
      number("meter_u", "Standard uncertainty of the meter", { hint: "in the unit of the signal" }),
    ],
  },
  number("repeatability_percent", "Repeatability", {
    unit: "%",
    hint: "of span, full width; used where a run has one cycle",
  }),
  number("temperature_coefficient_percent_per_k", "Temperature coefficient", {
    unit: "%/K",
    hint: "of span, per kelvin",
  }),
  number("reference_temperature_c", "Reference temperature", { unit: "\u00b0C" }),
  text("manufacturer", "Manufacturer"),
  text("model", "Model"),
  text("medium", "Medium"),
  text("connection", "Connection", { hint: "such as G 1/2 B, NPT 1/4" }),
  text("customer", "Customer", { hint: "if it is not the customer of its site" }),
  {
    name: "language",
    label: "Language of certificates",
    as: "choice",
    usual: "",
    options: [
      ["", "as its site's"],
      ["en", "English"],
      ["de", "German"],
    ],
    hint: "of its labels too",
  },
  text("area", "Area"),
  text("place", "Place"),
  {
    name: "setting",
    label: "Location",
    as: "choice",
    usual: "",
    options: [
      ["indoors", "indoors, in a pit or under a roof"],
      ["outdoors", "outdoors"],
    ],
    hint: "For a gas that displaces air, the visit asks about ventilation unless this is outdoors.",
  },
  { name: "interval_months", label: "Test interval", as: "whole", unit: "months" },
  { name: "due", label: "Due", as: "date" },
  {
    name: "status",
    label: "Status",
    as: "choice",
    usual: "",
    options: [
      ["in service", "in service"],
      ["out of service", "out of service"],
    ],
  },
  {
    name: "aliases",
    label: "Other names",
    as: "texts",
    hint: "such as an old tag; one per line",
  },
  { name: "note", label: "Note", as: "text", lines: 3 },
  {
    name: "cautions",
    label: "Cautions of this instrument",
    as: "checks",
    hint: "Shown before any pressure, in addition to those of the method.",
    options: Object.entries(cautionWords.codes),
  },
]);
