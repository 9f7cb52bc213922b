import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Complaint, send, useDoing } from "../nav/asking";
import { Button } from "../parts/button";
import { SheetButton } from "../parts/sheet-button";
import { Choice } from "../parts/field";
import { Later } from "../parts/later";
import { importing as explain } from "../nav/importing";
import { base64, mapped, type Reading, type Trial } from "../records/intake";
import { showValue } from "../records/office";
import { bringInWords as w, fieldCalled as called } from "../words/bring-in";
import { sentence } from "../words/words";
import { Causes } from "./bring-in-causes";

const states = ["bad", "changed", "new", "dropped", "same"];

const loadResults = () => import("./bring-results").then((m) => m.BringResults);

/** BringIn imports a list of instruments: its file, its columns, what is wrong, and the outcome. */
export function BringIn({ onDone }: { onDone: (said: ComponentChildren) => void }) {
  const [file, setFile] = useState<{ name: string; text: string } | undefined>();
  const [trial, show] = useState<Trial | undefined>();
  const [state, see] = useState("");
  const [past, bringPast] = useState(false);
  const d = useDoing();
  const tried = async (text: string, reading: Reading | null) => {
    const t = (await send("/api/office/import/try", { file: text, reading })) as Trial;
    show(t);
    see(states.find((s) => (t.count[s] ?? 0) > 0) ?? "");
  };
  const choose = (f: File | undefined) => {
    if (!f) return;
    d.run(async () => {
      show(undefined);
      const chosen = { name: f.name, text: await base64(f) };
      setFile(chosen);
      await tried(chosen.text, null);
    }, explain);
  };
  const again = (reading: Reading) => d.run(() => tried(file?.text ?? "", reading), explain);
  const go = (t: Trial) =>
    d.run(async () => {
      const body = { file: file?.text ?? "", reading: t.reading, shown: t.shown };
      const done = (await send("/api/office/import", body)) as { new: number; changed: number; left: number };
      onDone(w.done(done.new, done.changed, done.left));
    }, explain);
  const n = (s: string) => trial?.count[s] ?? 0;
  const any = n("new") + n("changed") > 0 && trial?.shown !== "";
  if (past) return <Later load={loadResults} props={{ onDone }} />;
  return (
    <section class="bring-in" aria-label={w.title}>
      <h2>{w.title}</h2>
      <p class="quiet">{w.hint}</p>
      <SheetButton label={file ? w.other : w.file} disabled={d.busy} onFile={choose} />
      {trial ? null : (
        <Button kind="quiet" onClick={() => bringPast(true)}>
          {w.past}
        </Button>
      )}
      <Complaint error={d.error} />
      {trial ? (
        <>
          <p>
            <strong>{file?.name}</strong> {w.read(trial.encoding, trial.header)}{" "}
            {trial.titles.length > 0 ? w.titles(trial.titles) : ""}
          </p>
          {trial.kept ? (
            <p role="status">
              {w.kept}{" "}
              <Button kind="quiet" disabled={d.busy} onClick={() => again({})}>
                {w.afresh}
              </Button>
            </p>
          ) : null}
          <Columns trial={trial} busy={d.busy} onRead={again} />
          <Causes key={trial.shown} trial={trial} busy={d.busy} onRead={again} />
          <Rows trial={trial} state={state} onState={see} />
          {trial.new_sites.length > 0 ? <p>{w.newSites(trial.new_sites)}</p> : null}
        </>
      ) : null}
      <div class="buttons">
        {trial ? (
          <Button kind="main" disabled={d.busy || !any} onClick={() => go(trial)}>
            {any ? w.go(n("new"), n("changed")) : w.nothingToDo}
          </Button>
        ) : null}
        <Button onClick={() => onDone("")}>{w.back}</Button>
      </div>
    </section>
  );
}

type Part = { trial: Trial; busy: boolean; onRead: (reading: Reading) => void };

/** Columns shows which field each column is read as, and lets a person change it. */
function Columns({ trial, busy, onRead }: Part) {
  return (
    <details open={trial.headings.some((h) => h.field === "") || trial.shown === ""}>
      <summary>
        <h3>{w.columns}</h3>
      </summary>
      <table class="small">
        <thead>
          <tr>
            <th>{w.heading}</th>
            <th>{w.cells}</th>
            <th>{w.taken}</th>
          </tr>
        </thead>
        <tbody>
          {trial.headings.map((h, i) => (
            <tr key={`${i}${h.text}`}>
              <th scope="row">{h.text || w.unnamed(i + 1)}</th>
              <td class="quiet">{h.sample.join(" · ")}</td>
              <td>
                <select
                  aria-label={w.takenFor(h.text || w.unnamed(i + 1))}
                  value={h.field}
                  disabled={busy || h.text === ""}
                  onChange={(e) => onRead(mapped(trial, h.text, e.currentTarget.value))}
                >
                  <option value="">{w.none}</option>
                  {trial.fields.map((f) => (
                    <option key={f} value={f}>
                      {called(f)}
                    </option>
                  ))}
                </select>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}

/** Rows shows the outcome for the rows of one state. */
function Rows({ trial, state, onState }: { trial: Trial; state: string; onState: (state: string) => void }) {
  const there = states.filter((s) => (trial.count[s] ?? 0) > 0);
  const rows = trial.rows.filter((r) => r.state === state);
  const of = trial.count[state] ?? 0;
  if (there.length === 0) return null;
  return (
    <>
      <h3>{w.becomes}</h3>
      <Choice
        label={w.which}
        value={state}
        options={there.map((s) => [s, w.count(w.state[s] ?? s, trial.count[s] ?? 0)] as const)}
        onChange={onState}
      />
      {rows.length < of ? <p class="quiet">{w.first(rows.length, of)}</p> : null}
      <table class="small">
        <tbody>
          {rows.map((r) => (
            <tr key={r.line}>
              <td class="number quiet">{r.line}</td>
              <th scope="row">{r.tag}</th>
              <td>
                {r.problems.map((p) => (
                  <p key={p}>{sentence(p)}</p>
                ))}
                {r.changes.map((c) => (
                  <p key={c.field}>
                    {called(c.field)}: {r.state === "new" ? null : <s class="quiet">{showValue(c.before)}</s>}
                    {r.state === "new" ? "" : " → "}
                    <strong>{showValue(c.after)}</strong>
                  </p>
                ))}
                {r.lost.map((p) => (
                  <p key={p} class="quiet">
                    {sentence(p)}
                  </p>
                ))}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
