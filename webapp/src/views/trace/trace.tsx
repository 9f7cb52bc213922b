import { useEffect, useRef, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { TraceChart } from "../../parts/trace-chart";
import { blob, putBlob } from "../../store/store";
import { readField } from "../../wire/read";
import { asNumber, asObject, asText, type Json, newId, type RecordState, value } from "../../wire/records";
import { traceWords as w } from "../../words/trace";
import { visitWords } from "../../words/visit";
import { readDecimal, showDecimal } from "../../words/words";
import { Complaint, put, useKeep } from "../../nav/keep";
import { doneAt, type Entry, type Step, stepsOf } from "../../records/run";
import { sheetOf } from "../../records/sheet";
import { against } from "../../records/against";
import { Columns } from "./columns";
import { type Form, formOf, readingOf } from "./reading";
import {
  blockFor,
  type Doc,
  look,
  mostSamples,
  pack,
  plain,
  type Read,
  read,
  remember,
  rowsOf,
  type Seen,
  unpack,
} from "../../records/trace";
import { standsFor } from "./stands";
import { count, Used } from "./used";

type Props = {
  visit: RecordState;
  run: RecordState;
  step: Step;
  kind: string;
  /** The record that is read another way, or replaced by another file; it stays on record. */
  correcting?: Entry | undefined;
  /** Keeps a correction of a closed run, with what follows from it. */
  keepCapture?: ((capture: { [name: string]: Json }) => Promise<void>) | undefined;
  onKept: () => void;
  onBack: () => void;
};

type Done = { read: Read; reading: Doc; wrong: string | undefined };

/**
 * Trace takes a step's values from a logger's file. It looks at the file, has its columns
 * confirmed, reads all of it, and keeps it with the visit.
 */
export function Trace({ visit, run, step, kind, correcting, keepCapture, onKept, onBack }: Props) {
  const { low, high, ...range } = readField("visit", visit, "item").range;
  const unit = step.unit || range.unit;
  const to = kind === "leak" ? "mean" : "extremes";
  const [file, setFile] = useState<File | undefined>();
  const [plainly, setPlainly] = useState<Blob | undefined>(); // the file as it is read
  const [same, setSame] = useState(false); // the file is that of the corrected record
  const [reason, setReason] = useState("");
  const [seen, setSeen] = useState<Seen | undefined>();
  const [form, setForm] = useState<Form | undefined>();
  const [share, setShare] = useState<number | undefined>();
  const [done, setDone] = useState<Done | undefined>();
  const running = useRef<AbortController | undefined>(undefined);
  const k = useKeep();
  useEffect(() => () => running.current?.abort(), []);
  const fails = (e: unknown) => {
    if (e instanceof DOMException && e.name === "AbortError") return k.say(w.stopped);
    console.error(e);
    k.say(w.broken(e instanceof Error ? e.message : String(e)));
  };
  const take = (chosen: File | undefined, kept = false) => {
    if (!chosen) return;
    setDone(undefined);
    k.say(undefined);
    const looking = async () => {
      const read = await plain(chosen);
      const s = await look(read);
      setFile(chosen);
      setPlainly(read);
      setSame(kept);
      setSeen(s);
      setForm(formOf(s));
    };
    looking().catch(fails);
  };
  useEffect(() => {
    if (!correcting) return;
    const about = asObject(correcting.file);
    const here = async () => {
      const kept = await blob(correcting.value);
      if (kept) take(new File([await unpack(kept, asText(about["packed"]) === "gzip")], asText(about["name"])), true);
    };
    here().catch(fails);
  }, []);
  const go = async (part: Doc | undefined, rows: number) => {
    if (!plainly || !seen || !form) return;
    const made = readingOf(form, seen, {
      unit,
      mode: range.mode,
      contact: kind === "switch",
      to,
      range: { low, high, unit: range.unit },
    });
    if ("open" in made) return k.say(made.open);
    k.say(undefined);
    const reading: Doc = {
      ...made.reading,
      ...(part ? { part } : {}),
      thin: { to: blockFor(rows, to) === 1 ? "extremes" : to, block: blockFor(rows, to) },
    };
    const stop = new AbortController();
    running.current = stop;
    setShare(0);
    try {
      const all = await read(plainly, reading, (s) => setShare(s), stop.signal);
      const first = all.samples.p[0];
      const wrong =
        first === undefined
          ? undefined
          : await against(sheetOf(visit, [], false), [], { step: step.id, of: "trace", value: String(first), unit });
      setDone({ read: all, reading, wrong: wrong?.message });
    } catch (e) {
      fails(e);
    } finally {
      setShare(undefined);
      running.current = undefined;
    }
  };
  const keep = () => {
    if (!file || !done) return;
    if (done.wrong !== undefined) return k.say(done.wrong);
    if (correcting && reason.trim() === "") return k.say(visitWords.reasonNeeded);
    k.keep(async () => {
      const rows = asNumber(done.read.state["rows"]) ?? 0;
      let sha256 = correcting?.value ?? "";
      let about: Doc = { ...asObject(correcting?.file), rows };
      if (!same) {
        let kept: Awaited<ReturnType<typeof pack>>;
        try {
          kept = await pack(file);
        } catch (e) {
          if (!(e instanceof RangeError)) throw e;
          return k.say(w.tooLarge);
        }
        sha256 = await putBlob(new Blob([kept.blob], { type: kept.packed ? "application/gzip" : "text/csv" }));
        about = { name: file.name, bytes: file.size, rows, ...(kept.packed ? { packed: "gzip" } : {}) };
      }
      const at = new Date().toISOString();
      const capture: { [name: string]: Json } = {
        step: step.id,
        of: "trace",
        value: sha256,
        unit,
        at,
        reading: done.reading,
        file: about,
      };
      if (correcting) Object.assign(capture, { supersedes: correcting.id, reason: reason.trim() });
      remember(sha256, done.reading, done.read);
      if (keepCapture) {
        await keepCapture(capture);
        return onKept();
      }
      const has = {
        temperature: done.reading["temperature"] !== undefined,
        barometer: done.reading["barometer"] !== undefined,
      };
      const over = [step.id, ...standsFor(step, stepsOf(value(run, "plan")), has)].filter(
        (id) => doneAt(run, id) === undefined,
      );
      await put(run, {
        [`capture.${newId()}`]: capture,
        ...Object.fromEntries(over.map((id) => [`done.${id}`, { at }])),
      });
      onKept();
    });
  };
  const chooser = (
    <label class="button plain tall file">
      {file ? w.another : w.choose}
      <input
        type="file"
        accept=".csv,.txt,.tsv,.dat,.log,.asc,text/*"
        onChange={(e) => {
          take(e.currentTarget.files?.[0]);
          e.currentTarget.value = "";
        }}
      />
    </label>
  );
  return (
    <section class="trace-screen" aria-label={w.title}>
      <h2>{w.title}</h2>
      {!file ? <p>{w.hint}</p> : null}
      {!file ? chooser : null}
      {file && seen && form && share === undefined && !done ? (
        <Columns
          form={form}
          seen={seen}
          name={file.name}
          rows={count(rowsOf(plainly ?? file, seen))}
          onChange={setForm}
          onRead={() => void go(undefined, rowsOf(plainly ?? file, seen))}
          chooser={chooser}
        />
      ) : null}
      {share !== undefined ? (
        <>
          <p role="status">{w.reading(Math.floor(share * 100))}</p>
          <progress value={share} max={1} aria-label={w.reading(Math.floor(share * 100))} />
          <div class="buttons">
            <Button size="tall" onClick={() => running.current?.abort()}>
              {w.stop}
            </Button>
          </div>
        </>
      ) : null}
      {done && share === undefined ? (
        <Found
          done={done}
          unit={unit}
          kind={kind}
          to={to}
          busy={k.busy}
          onPart={(part, rows) => void go(part, rows)}
          onKeep={keep}
          onColumns={() => setDone(undefined)}
        />
      ) : null}
      {correcting && done ? <Field label={visitWords.reason} value={reason} onInput={setReason} /> : null}
      <Complaint error={k.error} />
      <Button kind="quiet" size="tall" onClick={onBack}>
        {correcting ? visitWords.cancel : w.back}
      </Button>
    </section>
  );
}

type FoundProps = {
  done: Done;
  unit: string;
  kind: string;
  to: "mean" | "extremes";
  busy: boolean;
  onPart: (part: Doc | undefined, rows: number) => void;
  onKeep: () => void;
  onColumns: () => void;
};

/** Found shows what was read, lets the person choose a part of it, and keeps it. */
function Found({ done, unit, kind, to, busy, onPart, onKeep, onColumns }: FoundProps) {
  const { t, p } = done.read.samples;
  const { part: taken, thin } = done.reading;
  const { from_s, to_s } = asObject(taken);
  const [from, setFrom] = useState(asText(from_s));
  const [until, setUntil] = useState(asText(to_s));
  const [open, setOpen] = useState<string | undefined>();
  const { used: usedRows, outside } = done.read.state;
  const used = asNumber(usedRows) ?? 0;
  const rows = used + (asNumber(outside) ?? 0);
  const first = t[0] ?? 0;
  const length = (t.at(-1) ?? 0) - first;
  const { block: group } = asObject(thin);
  const block = asNumber(group) ?? 1;
  const shown = (v: number) => `${showDecimal(Number(v.toPrecision(6)))} ${unit}`;
  const part = (a: string, b: string) => {
    const [x, y] = [a.trim() === "" ? "" : readDecimal(a), b.trim() === "" ? "" : readDecimal(b)];
    if (x === undefined || y === undefined || (x !== "" && y !== "" && Number(x) >= Number(y)))
      return setOpen(w.needs.part);
    setOpen(undefined);
    if (x === "" && y === "") return onPart(undefined, rows);
    const density = length > 0 ? used / length : 1; // rows per second of what was read
    const span = (y === "" ? first + length : Number(y)) - (x === "" ? 0 : Number(x));
    onPart(
      { ...(x === "" ? {} : { from_s: x }), ...(y === "" ? {} : { to_s: y }) },
      Math.ceil(Math.max(1, span) * density),
    );
  };
  const around = () => {
    const peak = t[p.indexOf(Math.max(...p))] ?? first;
    const side = ((length / Math.max(1, used)) * mostSamples) / 2;
    const [a, b] = [Math.max(0, peak - 1.5 * side), peak + 0.4 * side].map((v) => String(Number(v.toFixed(3))));
    setFrom(a ?? "");
    setUntil(b ?? "");
    part(a ?? "", b ?? "");
  };
  return (
    <>
      <h3>{w.read}</h3>
      {t.length > 0 ? (
        <TraceChart
          t={t}
          p={p}
          unit={unit}
          label={w.chart(count(t.length), shown(Math.min(...p)), shown(Math.max(...p)))}
        />
      ) : null}
      <Used read={done.read} block={block} to={to} />
      {t.length > 0 ? (
        <>
          <h3>{w.part}</h3>
          <p class="quiet">{w.partHint}</p>
          <div class="pair even">
            <Field label={w.from} value={from} onInput={setFrom} unit="s" inputMode="decimal" />
            <Field label={w.to} value={until} onInput={setUntil} unit="s" inputMode="decimal" />
          </div>
          <Complaint error={open} />
          <div class="buttons">
            <Button size="tall" onClick={() => part(from, until)}>
              {w.take}
            </Button>
            {kind === "burst" && block > 1 ? (
              <Button size="tall" onClick={around}>
                {w.around}
              </Button>
            ) : null}
          </div>
        </>
      ) : null}
      {done.wrong === undefined ? null : (
        <p class="complaint" role="alert">
          {w.notThis(done.wrong)}
        </p>
      )}
      <div class="buttons">
        <Button
          kind="main"
          size="tall"
          wide
          disabled={busy || t.length === 0 || done.wrong !== undefined}
          onClick={onKeep}
        >
          {w.keep}
        </Button>
        <Button size="tall" onClick={onColumns}>
          {w.again}
        </Button>
      </div>
    </>
  );
}
