import { useState } from "preact/hooks";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { eraseWords as w } from "../../words/erase";
import { showDateTime } from "../../words/words";

type Personal = { field: string; what: string; text: string; by: string; at: string; changes: number };

/**
 * Erase lists the parts of a record that show or name a person, and removes the chosen ones for
 * good.
 *
 * path is that of the visit or the person at the server. onErased is called when something was
 * erased.
 */
export function Erase({ path, onErased }: { path: string; onErased: () => void }) {
  const asked = useAsk<{ values: Personal[] }>(`${path}/personal`);
  const [chosen, setChosen] = useState<ReadonlySet<string>>(new Set());
  const [why, setWhy] = useState("");
  const [sure, setSure] = useState(false);
  const [done, setDone] = useState(0);
  const d = useDoing();
  const all = asked.reply?.values ?? [];
  const fields = all.map((v) => v.field).filter((f) => chosen.has(f));
  const choose = (f: string) => {
    const next = new Set(chosen);
    if (!next.delete(f)) next.add(f);
    setChosen(next);
    setSure(false);
  };
  const go = () =>
    d.run(async () => {
      await send(`${path}/erase`, { fields, reason: why });
      setDone(fields.length);
      setChosen(new Set());
      setSure(false);
      setWhy("");
      asked.again();
      onErased();
    });
  return (
    <>
      <p class="small quiet">{w.hint}</p>
      <Waiting asked={asked} />
      <div role="status">
        {done === 0 ? null : (
          <>
            <p>
              <strong>{w.done(done)}</strong> {w.left(all.length)}
            </p>
            {w.keeps.map((k) => (
              <p key={k} class="small">
                {k}
              </p>
            ))}
          </>
        )}
      </div>
      {asked.reply && all.length === 0 && done === 0 ? <p>{w.none}</p> : null}
      {all.length === 0 ? null : (
        <>
          <fieldset>
            <legend>{w.choose}</legend>
            {all.map((v) => (
              <label key={v.field} class="check">
                <input type="checkbox" checked={chosen.has(v.field)} onChange={() => choose(v.field)} />
                <span>
                  {w.what[v.what]?.(v.text) ?? v.field}
                  <br />
                  <span class="small quiet">{w.by(v.by, showDateTime(v.at), v.changes)}</span>
                </span>
              </label>
            ))}
          </fieldset>
          <Field label={w.why} value={why} onInput={setWhy} hint={w.whyHint} autocomplete="off" />
          {sure ? (
            <div class="caution" role="alert">
              <p>{w.sure(fields.length)}</p>
              <div class="buttons">
                <Button kind="main" disabled={d.busy} onClick={go}>
                  {w.now}
                </Button>
                <Button onClick={() => setSure(false)}>{w.leave}</Button>
              </div>
            </div>
          ) : (
            <Button disabled={fields.length === 0 || why.trim() === ""} onClick={() => setSure(true)}>
              {w.go}
            </Button>
          )}
        </>
      )}
      <Complaint error={d.error} />
    </>
  );
}
