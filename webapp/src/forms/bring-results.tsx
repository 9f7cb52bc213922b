import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Complaint, send, useDoing } from "../nav/asking";
import { Button } from "../parts/button";
import { SheetButton } from "../parts/sheet-button";
import { isVerdict, Mark } from "../parts/mark";
import { importing } from "../nav/importing";
import { base64 } from "../records/intake";
import { bringResultsWords as w } from "../words/bring-results";
import { sentence, showDate } from "../words/words";

type Sheet = { name: string; file: string; reading: { dates?: string }; papers: { [name: string]: string } };
type Test = {
  line: number;
  tag: string;
  date: string;
  state: string;
  found: string;
  left: string;
  points: number;
  problems: { line: number; says: string }[];
};
type Trial = {
  tests: Test[];
  count: { [state: string]: number };
  missing: string[];
  unused: string[];
  shown: string;
};

/** BringResults imports a sheet of past results with the certificates that it names. */
export function BringResults({ onDone }: { onDone: (said: ComponentChildren) => void }) {
  const [sheet, setSheet] = useState<Sheet | undefined>();
  const [trial, show] = useState<Trial | undefined>();
  const d = useDoing();
  const tried = (next: Sheet) =>
    d.run(async () => {
      setSheet(next);
      show((await send("/api/office/results/try", next)) as Trial);
    }, importing);
  const choose = (f: File | undefined) => {
    if (!f) return;
    show(undefined);
    base64(f).then((file) => tried({ name: f.name, file, reading: {}, papers: {} }), console.error);
  };
  const add = (files: FileList | null) => {
    if (!sheet || !files) return;
    Promise.all([...files].map(async (f) => [f.name, await base64(f)] as const)).then(
      (list) => tried({ ...sheet, papers: { ...sheet.papers, ...Object.fromEntries(list) } }),
      console.error,
    );
  };
  const go = () =>
    d.run(async () => {
      const done = (await send("/api/office/results", { ...sheet, shown: trial?.shown })) as { written: number };
      onDone(w.done(done.written));
    }, importing);
  const n = (state: string) => trial?.count[state] ?? 0;
  return (
    <section class="bring-in" aria-label={w.title}>
      <h2>{w.title}</h2>
      <p class="quiet">{w.hint}</p>
      <SheetButton label={sheet ? w.other : w.file} disabled={d.busy} onFile={choose} />
      <Complaint error={d.error} />
      {sheet && trial ? (
        <>
          <p role="status">
            <strong>{sheet.name}</strong> {w.counts(n("new"), n("same"), n("bad"))}
          </p>
          {trial.unused.length > 0 ? <p class="quiet">{w.unused(trial.unused)}</p> : null}
          {trial.missing.length > 0 ? (
            <>
              <p>{w.missing(trial.missing)}</p>
              <label class="button plain file">
                {w.papers}
                <input type="file" multiple disabled={d.busy} onChange={(e) => add(e.currentTarget.files)} />
              </label>
              <p class="small quiet">{w.papersHint}</p>
            </>
          ) : null}
          {n("bad") > 0 ? (
            <fieldset class="repair">
              <legend>{w.dates}</legend>
              {Object.entries(w.dateOrders).map(([dates, shown]) => (
                <Button key={dates} disabled={d.busy} onClick={() => tried({ ...sheet, reading: { dates } })}>
                  {shown}
                </Button>
              ))}
            </fieldset>
          ) : null}
          <Tests tests={trial.tests} />
        </>
      ) : null}
      <div class="buttons">
        {trial ? (
          <Button kind="main" disabled={d.busy || n("new") === 0 || trial.missing.length > 0} onClick={go}>
            {n("new") === 0 ? w.nothing : w.go(n("new"))}
          </Button>
        ) : null}
        <Button onClick={() => onDone("")}>{w.back}</Button>
      </div>
    </section>
  );
}

const wrong = ({ line, says }: Test["problems"][number]) =>
  line === 0 ? sentence(says) : w.inLine(line, sentence(says));

/** Tests lists what becomes of each test. */
function Tests({ tests }: { tests: Test[] }) {
  return (
    <table class="small">
      <thead>
        <tr>
          <th>{w.line}</th>
          <th>{w.tag}</th>
          <th>{w.date}</th>
          <th>{w.becomes}</th>
        </tr>
      </thead>
      <tbody>
        {tests.map((t) => (
          <tr key={t.line}>
            <td class="number quiet">{t.line}</td>
            <th scope="row">{t.tag}</th>
            <td>{t.date === "" ? "" : showDate(t.date)}</td>
            <td>
              {t.state === "bad" ? t.problems.map(wrong).join("; ") : t.state === "same" ? w.same : w.fresh(t.points)}{" "}
              {isVerdict(t.found) ? <Mark verdict={t.found} /> : null}
              {isVerdict(t.left) ? (
                <>
                  {" "}
                  {w.left} <Mark verdict={t.left} />
                </>
              ) : null}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
