import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { useRecord } from "../../store/hooks";
import { readField } from "../../wire/read";
import { asObject, asText, type Json, object, type RecordState, value } from "../../wire/records";
import { budgetWords } from "../../words/budget";
import { visitWords } from "../../words/visit";
import { call } from "../../calc/calc";
import { readDecimal, sentence, showDecimal, showTime } from "../../words/words";
import { useDraft } from "./draft";
import { lastChoice, rememberLast } from "./last";
import { gravityOf } from "../../records/gravity";
import { Complaint, put, useKeep } from "../../nav/keep";
import { inUnit } from "../../records/units";

const w = visitWords.surroundings;

type Condition = { field: string; label: string; unit: string; low: number; high: number; needed: boolean };
export type Typed = { [field: string]: string };
/** Other units in which a field may be typed. */
const beside: { [field: string]: string[] } = {
  temperature_c: ["°C", "°F", "K"],
  pressure_hpa: ["hPa", "mbar", "kPa", "inHg", "mmHg", "psi", "bar", "Pa"],
  standard_above_m: ["m", "ft", "in", "cm"],
};
export type Wrong = { field: string; error: string };

/** The calculation says which values the air of a place can have. */
const conditions: Condition[] = [
  { field: "temperature_c", label: w.temperature, unit: "°C", low: -Infinity, high: Infinity, needed: true },
  { field: "pressure_hpa", label: w.pressure, unit: "hPa", low: 0, high: Infinity, needed: false },
  { field: "humidity_percent", label: w.humidity, unit: "%", low: 0, high: Infinity, needed: false },
];
const above: Condition = { field: "standard_above_m", label: w.head, unit: "m", low: -1000, high: 1000, needed: false };
const density: Condition = {
  field: "fluid_density_kg_m3",
  label: w.density,
  unit: "kg/m³",
  low: 0,
  high: 20000,
  needed: true,
};
const fluids = Object.entries(w.fluids);

/** Fluids whose density does not follow from their name. */
const unknown = ["oil", "other"];

const unitKey = (field: string) => `${field} unit`;

/** unitIn gives the unit that a field is typed in. */
const unitIn = (c: Condition, typed: Typed) => typed[unitKey(c.field)] || c.unit;

/** inOwn converts values typed in other units into a field's own unit, and says what was typed. */
async function inOwn(typed: Typed): Promise<{ own: Typed; asTyped: Typed }> {
  const own = { ...typed };
  const asTyped: Typed = {};
  for (const c of [...conditions, above]) {
    const read = readDecimal(typed[c.field] ?? "");
    const unit = unitIn(c, typed);
    if (read === undefined || unit === c.unit) continue;
    own[c.field] = await inUnit(read, unit, c.unit);
    asTyped[c.field] = `${read} ${unit}`;
  }
  return { own, asTyped };
}

function readAll(wanted: Condition[], typed: Typed): { values: Typed } | Wrong {
  const values: Typed = {};
  for (const c of wanted) {
    const t = (typed[c.field] ?? "").trim();
    if (t === "" && !c.needed) continue;
    const read = readDecimal(t);
    if (read === undefined) return { field: c.field, error: w.number(c.label) };
    const n = Number(read);
    if (c.high < Infinity && (n < c.low || n > c.high))
      return { field: c.field, error: w.between(c.label, showDecimal(c.low), `${showDecimal(c.high)}\u00a0${c.unit}`) };
    values[c.field] = read;
  }
  return { values };
}

/**
 * readConditions reads what was typed, with a comma or a point, or names the first field that does
 * not fit.
 */
export function readConditions(typed: Typed, wanted = conditions): { values: Typed } | Wrong {
  return readAll(wanted, typed);
}

/**
 * readHead reads the column between standard and instrument; no values if both are on one level.
 */
export function readHead(typed: Typed): { values: Typed } | Wrong {
  const level = readAll([above], typed);
  if ("error" in level || Object.keys(level.values).length === 0 || Number(level.values[above.field]) === 0)
    return "error" in level ? level : { values: {} };
  const fluid = typed["fluid"] ?? "";
  if (!(fluid in w.fluids)) return { field: "fluid", error: w.chooseFluid };
  const rest = unknown.includes(fluid) ? readAll([density], typed) : { values: {} };
  return "error" in rest ? rest : { values: { ...level.values, fluid, ...rest.values } };
}

/** parsed reads a draft of what was typed; nothing if it is none. */
export function parsed(draft: string): Typed {
  if (draft === "") return {};
  try {
    return Object.fromEntries(Object.entries(asObject(JSON.parse(draft))).map(([k, v]) => [k, asText(v)]));
  } catch {
    return {};
  }
}

/** airAsLast gives the air conditions typed at the last stop, with their units. */
export function airAsLast(last = lastChoice("surroundings", 12)): Typed {
  return Object.fromEntries(
    conditions.flatMap((c) =>
      [c.field, unitKey(c.field)].flatMap((f) => (last?.[f] === undefined ? [] : [[f, asText(last[f])]])),
    ),
  );
}

/** airShown lists the typed air conditions, each with its unit. */
export const airShown = (typed: Typed): string =>
  conditions
    .filter((c) => (typed[c.field] ?? "") !== "")
    .map((c) => `${showDecimal(typed[c.field] ?? "")}\u00a0${unitIn(c, typed)}`)
    .join(" · ");

/** hasColumn says whether the fluid in the line matters: a differential instrument has two legs. */
export const hasColumn = (visit: RecordState) => readField("visit", visit, "item").range.mode !== "differential";

/** withBarometer says whether a barometer was chosen for a visit. */
const withBarometer = (visit: RecordState) => readField("visit", visit, "barometer").id !== "";

/**
 * wantedOf gives the air conditions to ask for. A barometer's reading is a part of each pressure.
 */
const wantedOf = (barometer: boolean) =>
  barometer ? conditions.map((c) => (c.field === "pressure_hpa" ? { ...c, needed: true } : c)) : conditions;

/** airToRemember gives the typed air conditions that are offered at the next stop. */
export const airToRemember = (typed: Typed): Typed =>
  Object.fromEntries(
    conditions.flatMap((c) => {
      const read = readDecimal(typed[c.field] ?? "");
      return read
        ? [
            [c.field, read],
            [unitKey(c.field), unitIn(c, typed)],
          ]
        : [];
    }),
  );

/**
 * airOf turns what was typed into the visit's fields for the air and the column, or names the field
 * that does not fit.
 */
export async function airOf(
  visit: RecordState,
  typed: Typed,
  site: RecordState | null | undefined,
  barometer = withBarometer(visit),
): Promise<{ fields: { [name: string]: Json } } | Wrong> {
  const { own, asTyped } = await inOwn(typed);
  const air = readConditions(own, wantedOf(barometer));
  if ("error" in air) return air;
  const head = hasColumn(visit) ? readHead(own) : { values: {} };
  if ("error" in head) return head;
  const height = asText(value(site ?? undefined, "height_m"));
  const surroundings = { ...air.values, ...(height === "" ? {} : { height_m: height }) };
  const fields: { [name: string]: Json } = { surroundings };
  if (Object.keys(head.values).length > 0) fields["head"] = { ...head.values, ...gravityOf(site) };
  // There was a column before the correction.
  else if (value(visit, "head")) fields["head"] = { ...object(visit, "head"), standard_above_m: "0" };
  if (Object.keys(asTyped).length > 0 || value(visit, "typed")) fields["typed"] = asTyped;
  const [first] = (await call("place", surroundings)).findings;
  if (!first) return { fields };
  const label = conditions.find((c) => c.field === first.field)?.label ?? "";
  return { field: first.field, error: `${label}: ${sentence(first.message)}` };
}

type BoxProps = {
  of: Condition;
  typed: Typed;
  hint?: string;
  wrong: Wrong | undefined;
  onType: (field: string, v: string) => void;
};

/** Box is the field of one condition, in the unit chosen beside it. */
function Box({ of: c, typed, hint = "", wrong, onType }: BoxProps) {
  const units = beside[c.field];
  return (
    <Field
      label={c.label}
      value={typed[c.field] ?? ""}
      unit={unitIn(c, typed)}
      {...(units ? { units, onUnit: (u: string) => onType(unitKey(c.field), u) } : {})}
      inputMode={c.low < 0 ? "text" : "decimal"}
      onInput={(v) => onType(c.field, v)}
      {...(hint === "" ? {} : { hint })}
      {...(wrong?.field === c.field ? { error: wrong.error } : {})}
    />
  );
}

/** AirFields are the fields of the named air conditions. */
export function AirFields({
  of,
  typed,
  wrong,
  onType,
}: {
  of: string[];
  typed: Typed;
  wrong: Wrong | undefined;
  onType: (typed: Typed) => void;
}) {
  return (
    <>
      {conditions
        .filter((c) => of.includes(c.field))
        .map((c) => (
          <Box key={c.field} of={c} typed={typed} wrong={wrong} onType={(f, v) => onType({ ...typed, [f]: v })} />
        ))}
    </>
  );
}

/**
 * Column is the height of the standard above an instrument, with the fluid in the line if there is
 * a column.
 */
export function Column({
  typed,
  label,
  hint = w.headHint,
  ask = true,
  wrong,
  onType,
}: {
  typed: Typed;
  label?: string;
  hint?: string;
  /** Whether to ask for the fluid; the gauges of one manifold share it. */
  ask?: boolean;
  wrong: Wrong | undefined;
  onType: (field: string, v: string) => void;
}) {
  const raised = ask && (typed[above.field] ?? "").trim() !== "";
  return (
    <>
      <Box
        of={label === undefined ? above : { ...above, label }}
        typed={typed}
        hint={hint}
        wrong={wrong}
        onType={onType}
      />
      {raised ? (
        <Choice label={w.fluid} value={typed["fluid"]} onChange={(v) => onType("fluid", v)} options={fluids} />
      ) : null}
      {raised && unknown.includes(typed["fluid"] ?? "") ? (
        <Box of={density} typed={typed} wrong={wrong} onType={onType} />
      ) : null}
    </>
  );
}

/**
 * Surroundings asks for the ambient conditions, and for the column between standard and instrument
 * if there is one.
 */
export function Surroundings({ visit }: { visit: RecordState }) {
  const kept = { ...object(visit, "surroundings"), ...object(visit, "head") };
  const last = Object.keys(kept).length === 0 ? lastChoice("surroundings", 12) : undefined;
  const offered = last ? airAsLast(last) : {};
  const [draft, setDraft] = useDraft(`${visit.id} surroundings`, JSON.stringify({ ...offered, ...kept }));
  const [wrong, setWrong] = useState<Wrong | undefined>();
  const k = useKeep();
  const site = useRecord(visit.site);
  const gravity = gravityOf(site);
  const typed = parsed(draft);
  const type = (field: string, v: string) => setDraft(JSON.stringify({ ...typed, [field]: v }));
  const column = hasColumn(visit);
  const raised = column && (typed[above.field] ?? "").trim() !== "";
  const wanted = wantedOf(withBarometer(visit));
  const go = () => k.keep(keep);
  const keep = async () => {
    const said = await airOf(visit, typed, site);
    if ("error" in said) return setWrong(said);
    setWrong(undefined);
    await put(visit, said.fields);
    rememberLast("surroundings", airToRemember(typed));
    setDraft("");
  };
  const same = (c: Condition) =>
    last !== undefined && typed[c.field] !== undefined && typed[c.field] === asText(last[c.field]);
  const box = (c: Condition, hint: string) => (
    <Box key={c.field} of={c} typed={typed} hint={hint} wrong={wrong} onType={type} />
  );
  return (
    <>
      <h1>{w.title}</h1>
      {wanted.map((c) => box(c, same(c) ? w.asLast(showTime(asText(last?.["at"]))) : c.needed ? "" : w.optional))}
      {column ? <Column typed={typed} wrong={wrong} onType={type} /> : null}
      {raised ? (
        <p class="small quiet">
          {budgetWords.gravity(asText(gravity["gravity_m_s2"]), asText(gravity["latitude_deg"]), showDecimal)}
        </p>
      ) : null}
      <Complaint error={k.error ?? (wrong?.field === "fluid" ? wrong.error : undefined)} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {visitWords.next}
      </Button>
    </>
  );
}
