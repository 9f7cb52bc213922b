import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { Choice, Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import { Complaint, saying, send, useAsk, useDoing } from "../../nav/asking";
import { LinkError } from "../../link/link";
import { fittingAsked, kindOf, named } from "../../records/give";
import { useCalc } from "../../nav/use-calc";
import { showValue } from "../../records/office";
import { useKind } from "../../store/hooks";
import { type Json, text } from "../../wire/records";
import { bulkWords as w } from "../../words/bulk";
import { registerWords } from "../../words/register";
import { sentence, showDate } from "../../words/words";
import { Fold } from "./filters";

type Name = "method" | "interval_months" | "area" | "due" | "status" | "language";
type Values = {
  method?: string;
  interval_months?: number;
  area?: string;
  due?: string;
  status?: string;
  language?: string;
};
type Row = { id: string; tag: string; fields: { field: Name; before: Json; after: Json }[] };
type Refused = { id: string; tag: string; why: string };
type Preview = { rows: Row[]; same: number; refused: Refused[]; names: { [id: string]: string }; shown: string };
type Bulk = { id: string; by: string; at: string; count: number; values: Values; undone: string };

/** The most rows that a preview lists; the others are like them. */
const most = 200;

const explain = (e: unknown) =>
  e instanceof LinkError && (e.code === "changed" || e.code === "undone") ? w.changed : saying(e);

/** undo gives the instruments of a change their earlier values back, and says what happened. */
async function undo(id: string): Promise<string> {
  const said = (await send(`/api/office/bulk/${encodeURIComponent(id)}/undo`, {})) as {
    undone: number;
    kept: Refused[];
  };
  const kept = said.kept.length === 0 ? "" : ` ${w.kept(said.kept.length, said.kept.map((k) => k.tag).join(", "))}`;
  return w.undone(said.undone) + kept;
}

/** Done says how many were changed, and undoes it. */
export function Done({ id, count }: { id: string; count: number }) {
  const [said, say] = useState("");
  const d = useDoing();
  if (said !== "") return <>{said}</>;
  return (
    <>
      {w.done(count)}{" "}
      <Button kind="quiet" disabled={d.busy} onClick={() => d.run(async () => say(await undo(id)), explain)}>
        {w.undo}
      </Button>
      {d.error}
    </>
  );
}

/** Earlier lists recent changes to many instruments, which can be undone. */
export function Earlier({ onDone }: { onDone: (said: string) => void }) {
  const asked = useAsk<{ changes: Bulk[] }>("/api/office/bulk");
  const d = useDoing();
  const list = asked.reply?.changes ?? [];
  const what = (v: Values) =>
    Object.keys(v)
      .map((f) => w.fields[f] ?? f)
      .join(", ");
  return (
    <Fold name={w.earlier}>
      {list.length === 0 ? <p class="small quiet">{w.none}</p> : null}
      <ul class="saved">
        {list.map((b) => (
          <li key={b.id}>
            <span class="small">{w.by(what(b.values), b.count, b.by, showDate(b.at))}</span>
            {b.undone === "" ? (
              <Button
                kind="quiet"
                label={`${w.undo}: ${w.by(what(b.values), b.count, b.by, showDate(b.at))}`}
                disabled={d.busy}
                onClick={() =>
                  d.run(async () => {
                    onDone(await undo(b.id));
                    asked.again();
                  }, explain)
                }
              >
                {w.undo}
              </Button>
            ) : (
              <span class="small quiet">{w.wasUndone}</span>
            )}
          </li>
        ))}
      </ul>
      <Complaint error={d.error ?? asked.error} />
    </Fold>
  );
}

/** BulkChange asks what to give the chosen instruments, shows the outcome for each, and does it. */
export function BulkChange({ ids, onDone }: { ids: string[]; onDone: (done?: { id: string; count: number }) => void }) {
  const [on, setOn] = useState<readonly Name[]>([]);
  const [typed, type] = useState({
    method: "",
    interval_months: "12",
    area: "",
    due: "",
    status: "in service",
    language: "",
  });
  const [preview, show] = useState<Preview | undefined>();
  const d = useDoing();
  const known = useKind("method");
  const fits = useCalc("fitting", known && fittingAsked(known, [""]));
  const methods = named(known ?? [], fits?.methods);
  const set = (name: Name) => (v: string) => type({ ...typed, [name]: v });
  const values = (): Values =>
    Object.fromEntries(on.map((f) => [f, f === "interval_months" ? Number(typed[f]) : typed[f]]));
  const ask = { instruments: ids, values: values() };
  const toggle = (f: Name) => setOn(on.includes(f) ? on.filter((x) => x !== f) : [...on, f]);
  const value = (f: Name, v: Json) => {
    if (v === null) return "–";
    if (f === "method") return preview?.names[String(v)] ?? String(v);
    if (f === "language") return w.languages.find(([code]) => code === v)?.[1] ?? showValue(v);
    if (f === "interval_months") return registerWords.months(Number(v));
    return f === "due" ? showDate(String(v)) : showValue(v);
  };
  const boxes: Record<Name, ComponentChildren> = {
    interval_months: (
      <Field
        label={w.fields["interval_months"] ?? ""}
        value={typed.interval_months}
        unit={w.months}
        inputMode="numeric"
        onInput={set("interval_months")}
      />
    ),
    due: <Field label={w.fields["due"] ?? ""} type="date" value={typed.due} hint={w.dueHint} onInput={set("due")} />,
    area: <Field label={w.fields["area"] ?? ""} value={typed.area} hint={w.areaHint} onInput={set("area")} />,
    status: (
      <Choice label={w.fields["status"] ?? ""} value={typed.status} options={w.states} onChange={set("status")} />
    ),
    language: (
      <Choice
        label={w.fields["language"] ?? ""}
        value={typed.language}
        options={w.languages}
        onChange={set("language")}
      />
    ),
    method: (
      <Pick
        label={w.fields["method"] ?? ""}
        value={typed.method}
        options={[
          ["", w.noMethod] as const,
          ...methods.map((m) => [m.id, `${text(m, "name")} (${registerWords.kinds[kindOf(m)] ?? kindOf(m)})`] as const),
        ]}
        onChange={set("method")}
      />
    ),
  };
  if (!preview)
    return (
      <section class="bulk" aria-label={w.title(ids.length)}>
        <h2>{w.title(ids.length)}</h2>
        <p class="quiet">{w.hint}</p>
        {(Object.keys(boxes) as Name[]).map((f) => (
          <div key={f}>
            <Check label={w.fields[f] ?? f} checked={on.includes(f)} onChange={() => toggle(f)} />
            {on.includes(f) ? boxes[f] : null}
          </div>
        ))}
        <Complaint error={d.error} />
        <div class="buttons">
          <Button
            kind="main"
            disabled={d.busy || on.length === 0 || (on.includes("method") && typed.method === "")}
            onClick={() => d.run(async () => show((await send("/api/office/bulk/preview", ask)) as Preview), explain)}
          >
            {w.preview}
          </Button>
          <Button onClick={() => onDone()}>{w.cancel}</Button>
        </div>
      </section>
    );
  return (
    <section class="bulk" aria-label={w.shown(preview.rows.length)}>
      <h2>{w.shown(preview.rows.length)}</h2>
      <p class="quiet">{w.same(preview.same)}</p>
      {preview.refused.length > 0 ? (
        <div class="caution">
          <p>{w.refused(preview.refused.length)}</p>
          <ul>
            {preview.refused.slice(0, most).map((r) => (
              <li key={r.id}>{`${r.tag}: ${sentence(r.why)}`}</li>
            ))}
          </ul>
        </div>
      ) : null}
      <table>
        <tbody>
          {preview.rows.slice(0, most).map((r) => (
            <tr key={r.id}>
              <th scope="row">{r.tag}</th>
              <td>
                {r.fields.map((f) => (
                  <p key={f.field}>
                    {w.fields[f.field]}: <s class="quiet">{value(f.field, f.before)}</s> →{" "}
                    <strong>{value(f.field, f.after)}</strong>
                  </p>
                ))}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <Complaint error={d.error} />
      <div class="buttons">
        <Button
          kind="main"
          disabled={d.busy || preview.rows.length === 0}
          onClick={() =>
            d.run(
              async () => onDone((await send("/api/office/bulk", { ...ask, shown: preview.shown })) as Bulk),
              explain,
            )
          }
        >
          {w.go(preview.rows.length)}
        </Button>
        <Button onClick={() => show(undefined)}>{w.back}</Button>
      </div>
    </section>
  );
}
