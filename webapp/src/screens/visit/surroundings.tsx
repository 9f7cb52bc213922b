import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { useRecord } from "../../store/hooks";
import { asObject, asText, type Json, object, type RecordState, value } from "../../wire/records";
import { budgetWords } from "../../words/budget";
import { visitWords } from "../../words/visit";
import { readDecimal, showDecimal } from "../../words/words";
import { useDraft } from "./draft";
import { gravityOf } from "./gravity";
import { Complaint, put, useKeep } from "./keep";
import { instrumentOf } from "./sheet";

const w = visitWords.surroundings;

type Condition = { field: string; label: string; unit: string; low: number; high: number; needed: boolean };
type Typed = { [field: string]: string };
type Wrong = { field: string; error: string };

const conditions: Condition[] = [
  { field: "temperature_c", label: w.temperature, unit: "°C", low: -60, high: 80, needed: true },
  { field: "pressure_hpa", label: w.pressure, unit: "hPa", low: 400, high: 1100, needed: false },
  { field: "humidity_percent", label: w.humidity, unit: "%", low: 0, high: 100, needed: false },
];
const above: Condition = { field: "standard_above_m", label: w.head, unit: "m", low: -1000, high: 1000, needed: false };
const density: Condition = { field: "fluid_density_kg_m3", label: w.density, unit: "kg/m³", low: 0, high: 20000, needed: true };
const fluids = Object.entries(w.fluids);

/** Fluids whose density nobody can know from their name. */
const unknown = ["oil", "other"];

function readAll(wanted: Condition[], typed: Typed): { values: Typed } | Wrong {
  const values: Typed = {};
  for (const c of wanted) {
    const t = (typed[c.field] ?? "").trim();
    if (t === "" && !c.needed) continue;
    const read = readDecimal(t);
    if (read === undefined) return { field: c.field, error: w.number(c.label) };
    const n = Number(read);
    if (n < c.low || n > c.high) return { field: c.field, error: w.between(c.label, showDecimal(c.low), showDecimal(c.high)) };
    values[c.field] = read;
  }
  return { values };
}

/** readConditions reads what was typed, with a comma or a point; the first field that does not fit is named. */
export function readConditions(typed: Typed): { values: Typed } | Wrong {
  return readAll(conditions, typed);
}

/** readHead reads the column between standard and instrument; no values when both stand on one level. */
export function readHead(typed: Typed): { values: Typed } | Wrong {
  const level = readAll([above], typed);
  if ("error" in level || Object.keys(level.values).length === 0 || Number(level.values[above.field]) === 0) return "error" in level ? level : { values: {} };
  const fluid = typed["fluid"] ?? "";
  if (!(fluid in w.fluids)) return { field: "fluid", error: w.chooseFluid };
  const rest = unknown.includes(fluid) ? readAll([density], typed) : { values: {} };
  return "error" in rest ? rest : { values: { ...level.values, fluid, ...rest.values } };
}

function parsed(draft: string): Typed {
  if (draft === "") return {};
  try {
    return Object.fromEntries(Object.entries(asObject(JSON.parse(draft))).map(([k, v]) => [k, asText(v)]));
  } catch {
    return {};
  }
}

/** Surroundings asks for the air around, and for the column between standard and instrument if there is one. */
export function Surroundings({ visit }: { visit: RecordState }) {
  const [draft, setDraft] = useDraft(`${visit.id} surroundings`, JSON.stringify({ ...object(visit, "surroundings"), ...object(visit, "head") }));
  const [wrong, setWrong] = useState<Wrong | undefined>();
  const k = useKeep();
  const gravity = gravityOf(useRecord(visit.site));
  const typed = parsed(draft);
  const type = (field: string, v: string) => setDraft(JSON.stringify({ ...typed, [field]: v }));
  const column = asText(instrumentOf(visit)["mode"]) !== "differential"; // whose two legs have one each
  const raised = column && (typed[above.field] ?? "").trim() !== "";
  const go = () => {
    const air = readConditions(typed);
    if ("error" in air) return setWrong(air);
    const head = column ? readHead(typed) : { values: {} };
    if ("error" in head) return setWrong(head);
    setWrong(undefined);
    const fields: { [name: string]: Json } = { surroundings: air.values };
    if (Object.keys(head.values).length > 0) fields["head"] = { ...head.values, ...gravity };
    else if (value(visit, "head")) fields["head"] = { ...object(visit, "head"), standard_above_m: "0" }; // there was one before it was corrected
    k.keep(async () => {
      await put(visit, fields);
      setDraft("");
    });
  };
  const box = (c: Condition, hint: string) => (
    <Field
      key={c.field}
      label={c.label}
      value={typed[c.field] ?? ""}
      unit={c.unit}
      inputMode={c.low < 0 ? "text" : "decimal"}
      onInput={(v) => type(c.field, v)}
      {...(hint === "" ? {} : { hint })}
      {...(wrong?.field === c.field ? { error: wrong.error } : {})}
    />
  );
  return (
    <>
      <h1>{w.title}</h1>
      {conditions.map((c) => box(c, c.needed ? "" : w.optional))}
      {column ? box(above, w.headHint) : null}
      {raised ? <Choice label={w.fluid} value={typed["fluid"]} onChange={(v) => type("fluid", v)} options={fluids} /> : null}
      {raised && unknown.includes(typed["fluid"] ?? "") ? box(density, "") : null}
      {raised ? <p class="small quiet">{budgetWords.gravity(asText(gravity["gravity_m_s2"]), asText(gravity["latitude_deg"]), showDecimal)}</p> : null}
      <Complaint error={k.error ?? (wrong?.field === "fluid" ? wrong.error : undefined)} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {visitWords.next}
      </Button>
    </>
  );
}
