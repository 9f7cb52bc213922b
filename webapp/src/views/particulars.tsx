import { shapes } from "../wire/records.gen";
import { read } from "../wire/read";
import { asNumber, asObject, asText, type Json, type RecordState, value } from "../wire/records";
import { particularsWords } from "../words/particulars";
import { showDecimal } from "../words/words";
import { unitOf } from "../records/facts";

const w = particularsWords;

type Doc = { [name: string]: Json };

const [contactShape] = shapes.value.particulars.contacts;

const known = (o: Doc, name: string) => (o[name] === undefined || o[name] === null ? "" : showDecimal(asText(o[name])));

/** volume writes cubic metres as litres: the same digits with the decimal mark moved by three. */
function volume(v: Json | undefined): string {
  const n = asNumber(v);
  return n === undefined ? "" : w.litres(showDecimal(Number((n * 1000).toPrecision(6))));
}

function contact(given: Json, unit: string): string {
  const c = asObject(given);
  const { acts, safe, safety_function: safety } = read(contactShape, given);
  const tolerance =
    known(c, "tolerance") === ""
      ? known(c, "tolerance_percent") === ""
        ? ""
        : `\u00b1 ${known(c, "tolerance_percent")} %`
      : `\u00b1 ${known(c, "tolerance")} ${unit}`;
  const { dead_band } = c;
  const band = asObject(dead_band);
  return [
    `${w.acts[acts] ?? ""} ${known(c, "nominal")} ${unit} ${tolerance}`.trim(),
    Object.keys(band).length > 0 ? w.deadBand(known(band, "low"), `${known(band, "high")} ${unit}`) : "",
    safe === "" ? "" : w.safe(safe),
    safety === true ? w.safety : "",
  ]
    .filter((t) => t !== "")
    .join(", ");
}

/** particularsOf lists the particulars of an instrument that is no gauge, each with its name. */
export function particularsOf(given: Json | undefined, unit: string): [string, string][] {
  const p = asObject(given);
  const { contacts, range_percent, weakest: part, volume_m3, added_volume_m3 } = p;
  const rows: [string, string][] = [];
  const add = (name: string, shown: string) => {
    if (shown !== "") rows.push([name, shown]);
  };
  add(w.volume, volume(volume_m3));
  add(w.addedVolume, volume(added_volume_m3));
  if (Array.isArray(contacts)) for (const c of contacts) add(w.contact(read(contactShape, c).name), contact(c, unit));
  for (const name of ["marked", "requested", "full_scale"] as const)
    add(w.pressures[name], known(p, name) === "" ? "" : `${known(p, name)} ${unit}`);
  const range = asObject(range_percent);
  add(
    w.manufacturing,
    Object.keys(range).length === 0 ? "" : `${known(range, "low")} \u2026 ${known(range, "high")} %`,
  );
  for (const name of ["lot", "lot_size", "material"] as const) add(w.texts[name], asText(p[name]));
  add(
    w.coincident,
    known(p, "coincident_temperature_c") === "" ? "" : `${known(p, "coincident_temperature_c")} \u00b0C`,
  );
  const weakest = asObject(part);
  const ends = [
    known(weakest, "low") === "" ? "" : `\u2265 ${known(weakest, "low")} ${unit}`,
    known(weakest, "high") === "" ? "" : `\u2264 ${known(weakest, "high")} ${unit}`,
  ];
  add(w.weakest, [read(shapes.value.particulars, given).weakest.part, ...ends].filter((t) => t !== "").join(" "));
  return rows;
}

/** Particulars is the list of particulars of an instrument that is no gauge. */
export function Particulars({ instrument }: { instrument: RecordState }) {
  const rows = particularsOf(value(instrument, "particulars"), unitOf(instrument));
  if (rows.length === 0) return null;
  return (
    <dl class="facts">
      {rows.flatMap(([name, shown]) => [<dt key={`${name} name`}>{name}</dt>, <dd key={name}>{shown}</dd>])}
    </dl>
  );
}
