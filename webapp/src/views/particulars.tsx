import { asNumber, asObject, asText, type Json, type RecordState, value } from "../wire/records";
import { particularsWords } from "../words/particulars";
import { showDecimal } from "../words/words";
import { unitOf } from "../records/facts";

const w = particularsWords;

type Doc = { [name: string]: Json };

const known = (o: Doc, name: string) => (o[name] === undefined || o[name] === null ? "" : showDecimal(asText(o[name])));

/** volume writes cubic metres as litres, the same digits with the decimal mark moved by three. */
function volume(v: Json | undefined): string {
  const n = asNumber(v);
  return n === undefined ? "" : w.litres(showDecimal(Number((n * 1000).toPrecision(6))));
}

function contact(c: Doc, unit: string): string {
  const tolerance =
    known(c, "tolerance") === ""
      ? known(c, "tolerance_percent") === ""
        ? ""
        : `\u00b1 ${known(c, "tolerance_percent")} %`
      : `\u00b1 ${known(c, "tolerance")} ${unit}`;
  const band = asObject(c["dead_band"]);
  return [
    `${w.acts[asText(c["acts"])] ?? ""} ${known(c, "nominal")} ${unit} ${tolerance}`.trim(),
    Object.keys(band).length > 0 ? w.deadBand(known(band, "low"), `${known(band, "high")} ${unit}`) : "",
    asText(c["safe"]) === "" ? "" : w.safe(asText(c["safe"])),
    c["safety_function"] === true ? w.safety : "",
  ]
    .filter((t) => t !== "")
    .join(", ");
}

/**
 * particularsOf tells what an instrument of another kind than a gauge is: each thing by its name.
 */
export function particularsOf(given: Json | undefined, unit: string): [string, string][] {
  const p = asObject(given);
  const rows: [string, string][] = [];
  const add = (name: string, shown: string) => {
    if (shown !== "") rows.push([name, shown]);
  };
  add(w.volume, volume(p["volume_m3"]));
  add(w.addedVolume, volume(p["added_volume_m3"]));
  if (Array.isArray(p["contacts"]))
    for (const c of p["contacts"].map(asObject)) add(w.contact(asText(c["name"])), contact(c, unit));
  for (const name of ["marked", "requested", "full_scale"] as const)
    add(w.pressures[name], known(p, name) === "" ? "" : `${known(p, name)} ${unit}`);
  const range = asObject(p["range_percent"]);
  add(
    w.manufacturing,
    Object.keys(range).length === 0 ? "" : `${known(range, "low")} \u2026 ${known(range, "high")} %`,
  );
  for (const name of ["lot", "lot_size", "material"] as const) add(w.texts[name], asText(p[name]));
  add(
    w.coincident,
    known(p, "coincident_temperature_c") === "" ? "" : `${known(p, "coincident_temperature_c")} \u00b0C`,
  );
  const weakest = asObject(p["weakest"]);
  const ends = [
    known(weakest, "low") === "" ? "" : `\u2265 ${known(weakest, "low")} ${unit}`,
    known(weakest, "high") === "" ? "" : `\u2264 ${known(weakest, "high")} ${unit}`,
  ];
  add(w.weakest, [asText(weakest["part"]), ...ends].filter((t) => t !== "").join(" "));
  return rows;
}

/** Particulars is the list of what an instrument of another kind than a gauge is. */
export function Particulars({ instrument }: { instrument: RecordState }) {
  const rows = particularsOf(value(instrument, "particulars"), unitOf(instrument));
  if (rows.length === 0) return null;
  return (
    <dl class="facts">
      {rows.flatMap(([name, shown]) => [<dt key={`${name} name`}>{name}</dt>, <dd key={name}>{shown}</dd>])}
    </dl>
  );
}
