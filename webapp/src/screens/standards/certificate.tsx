import { call } from "../../calc/calc";
import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { Choice, Field } from "../../parts/field";
import { commit } from "../../store/store";
import { readValue } from "../../wire/read";
import { newId, type RecordState, text } from "../../wire/records";
import { standardsWords as w } from "../../words/standards";
import { showRange } from "../../records/facts";
import { localDay } from "../../records/stops";
import { Complaint, useKeep } from "../../nav/keep";
import { type Came, Changes, FromFile } from "./incoming";
import { useCalc } from "../../nav/use-calc";
import { checkRange } from "./edit";
import {
  certifyOf,
  type Doc,
  doubtsOf,
  type PointForm,
  pointForms,
  readPoints,
  type Wrong,
  withCertificate,
} from "./standards-data";

const blank: PointForm = { applied: "", error: "", expanded: "", k: "2" };
const cells = ["applied", "error", "expanded", "k"] as const;

/** PointsForm is the form for a certificate's points, one line each. */
export function PointsForm({
  forms,
  unit,
  wrong,
  onChange,
}: {
  forms: PointForm[];
  unit: string;
  wrong: Wrong | undefined;
  onChange: (f: PointForm[]) => void;
}) {
  const put = (i: number, name: keyof PointForm, v: string) =>
    onChange(forms.map((f, n) => (n === i ? { ...f, [name]: v } : f)));
  return (
    <>
      <table class="points-form">
        <thead>
          <tr>
            {cells.map((c) => (
              <th key={c} scope="col" class="number">
                {c === "applied" ? `${w.applied}, ${unit}` : w[c]}
              </th>
            ))}
            <td />
          </tr>
        </thead>
        <tbody>
          {forms.map((f, i) => (
            <tr key={i}>
              {cells.map((c) => (
                <td key={c}>
                  <input
                    type="text"
                    inputMode="decimal"
                    autocomplete="off"
                    aria-label={w.cell(w[c], i + 1)}
                    aria-invalid={wrong?.field === `${c} ${i}`}
                    value={f[c]}
                    onInput={(e) => put(i, c, (e.currentTarget as HTMLInputElement).value)}
                  />
                </td>
              ))}
              <td>
                <Button
                  kind="quiet"
                  label={w.removePoint(i + 1)}
                  disabled={forms.length === 1}
                  onClick={() => onChange(forms.filter((_, n) => n !== i))}
                >
                  {"\u00d7"}
                </Button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <div class="buttons">
        <Button onClick={() => onChange([...forms, blank])}>{w.addPoint}</Button>
      </div>
    </>
  );
}

type Prefill = { number: string; calibrated: string; at: number; points: PointForm[] };

/** linesFor gives the points of a range's earlier calibration, with empty results to fill in. */
function linesFor(range: Doc): PointForm[] {
  const known = pointForms(readValue("range", range).points).map((p) => ({ ...p, error: "", expanded: "" }));
  return known.length > 0 ? known : [blank];
}

/**
 * CertificateForm takes a certificate of a standard: its number, dates and points. Saving it puts
 * the points in force unless a newer certificate is.
 */
export function CertificateForm({
  standard,
  ranges,
  prefill,
  said,
  onDone,
}: {
  standard: RecordState;
  ranges: Doc[];
  prefill: Prefill | undefined;
  said: string;
  onDone: (kept: boolean) => void;
}) {
  const [at, setAt] = useState(String(prefill?.at ?? 0));
  const next = useCalc("due", prefill?.calibrated ? { from: prefill.calibrated } : undefined);
  const [typed, setTyped] = useState<{
    number: string;
    calibrated: string;
    due?: string;
    by: string;
    accreditation: string;
  }>({
    number: prefill?.number ?? "",
    calibrated: prefill?.calibrated ?? "",
    by: "",
    accreditation: "",
  });
  const facts = { ...typed, due: typed.due ?? next?.due ?? "" };
  const range = ranges[Number(at)] ?? {};
  const [forms, setForms] = useState<PointForm[]>(prefill?.points ?? linesFor(range));
  const [wrong, setWrong] = useState<Wrong | undefined>();
  const [doubts, setDoubts] = useState<string[]>([]);
  const [came, setCame] = useState<Came | undefined>(); // from a file that was read
  const [sure, setSure] = useState(false);
  const k = useKeep();
  const take = (v: string) => {
    setAt(v);
    if (!prefill) setForms(linesFor(ranges[Number(v)] ?? {}));
  };
  const bad = (field: string) => (wrong?.field === field ? { error: wrong.error } : {});
  const fact = (field: keyof typeof facts, label: string, type: "text" | "date") => (
    <Field
      label={label}
      type={type}
      value={facts[field]}
      onInput={(v) => setTyped({ ...typed, [field]: v })}
      {...bad(field)}
    />
  );
  const go = () =>
    k.keep(async () => {
      setWrong(undefined);
      for (const [field, label] of [
        ["number", w.number_],
        ["calibrated", w.calibrated],
        ["due", w.dueOn],
      ] as const)
        if (facts[field].trim() === "") return setWrong({ field, error: w.needed(label) });
      if (facts.due < facts.calibrated) return setWrong({ field: "due", error: w.dates });
      const read = readPoints(forms);
      if ("error" in read) {
        k.say(read.error);
        return setWrong(read);
      }
      const refused = await checkRange({ ...range, points: read.points }, read.lines);
      if (refused) {
        k.say(refused.error);
        return setWrong(refused);
      }
      const odd = await doubtsOf({ ...range, points: read.points }, facts.calibrated, facts.due, localDay(new Date()));
      if (odd.length > 0 && !(sure && odd.join() === doubts.join())) {
        setSure(false);
        return setDoubts(odd);
      }
      const { low, high, unit, mode } = readValue("range", range);
      const certificate: Doc = {
        ...Object.fromEntries(Object.entries(facts).map(([n, v]) => [n, v.trim()])),
        range: { low, high, unit, mode: mode || "gauge" },
        points: read.points,
        ...(came ? { file: came.file } : {}),
      };
      await commit({
        record: standard.id,
        kind: "standard",
        site: standard.site,
        parent: standard.parent,
        set: withCertificate(newId(), certificate, await call("certify", certifyOf(standard, certificate))),
      });
      onDone(true);
    });
  const older = facts.calibrated !== "" && facts.calibrated < text(standard, "calibrated");
  return (
    <section class="office-form" aria-label={w.newCertificate}>
      <h2>{w.newCertificate}</h2>
      {said === "" ? null : <p>{said}</p>}
      {ranges.length > 1 ? (
        <Choice
          label={w.forRange}
          value={at}
          onChange={take}
          options={ranges.map((r, i) => [String(i), showRange(r)] as const)}
        />
      ) : null}
      <FromFile
        unit={readValue("range", range).unit}
        onRead={(c) => {
          setCame(c);
          setTyped({
            ...typed,
            ...Object.fromEntries(
              (["number", "calibrated", "due", "by"] as const).flatMap((f) => (c[f] === "" ? [] : [[f, c[f]]])),
            ),
          });
          setForms(c.tables[0]?.points ?? [blank]);
        }}
      />
      {came && came.serial !== "" && came.serial !== text(standard, "serial") ? (
        <p class="caution" role="alert">
          {w.otherSerial(came.serial, text(standard, "serial"))}
        </p>
      ) : null}
      {came && came.tables.length > 1 ? (
        <Choice
          label={w.whichTable}
          value={String(
            Math.max(
              0,
              came.tables.findIndex((t) => t.points === forms),
            ),
          )}
          onChange={(v) => setForms(came.tables[Number(v)]?.points ?? [blank])}
          options={came.tables.map((t, i) => [String(i), t.name] as const)}
        />
      ) : null}
      {fact("number", w.number_, "text")}
      {fact("by", w.by, "text")}
      {fact("accreditation", w.accreditation, "text")}
      <div class="columns">
        {fact("calibrated", w.calibrated, "date")}
        {fact("due", w.dueOn, "date")}
      </div>
      {older ? <p class="caution">{w.older}</p> : null}
      <p class="small quiet">{w.errorHint}</p>
      <PointsForm forms={forms} unit={readValue("range", range).unit} wrong={wrong} onChange={setForms} />
      <Changes before={readValue("range", range).points} forms={forms} unit={readValue("range", range).unit} />
      {doubts.length === 0 ? null : (
        <div class="caution" role="alert">
          <p>
            <strong>{w.odd}</strong>
          </p>
          <ul>
            {doubts.map((d) => (
              <li key={d}>{d}</li>
            ))}
          </ul>
          <Check label={w.sure} checked={sure} onChange={setSure} />
        </div>
      )}
      <Complaint error={k.error} />
      <div class="buttons">
        <Button kind="main" disabled={k.busy} onClick={go}>
          {w.keep}
        </Button>
        <Button onClick={() => onDone(false)}>{w.cancel}</Button>
      </div>
    </section>
  );
}
