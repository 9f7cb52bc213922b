import { useEffect, useRef, useState } from "preact/hooks";
import { Complaint, useDoing } from "../nav/asking";
import { saveLarge } from "../nav/saving";
import { Button } from "../parts/button";
import { Choice } from "../parts/field";
import { takeOutWords as w } from "../words/take-out";

const mega = 1_000_000;

/**
 * TakeOut saves everything of the plant, or of the instruments that a query finds, as one file.
 * query is "" if the register shows all.
 */
export function TakeOut({ query, found, onDone }: { query: string; found: number; onDone: () => void }) {
  const [part, choose] = useState(query === "" ? "all" : "some");
  const [come, count] = useState<number | undefined>();
  const [whole, say] = useState(false);
  const stop = useRef(new AbortController());
  const d = useDoing();
  useEffect(() => () => stop.current.abort(), []);
  const go = () =>
    d.run(async () => {
      stop.current = new AbortController();
      say(false);
      count(0);
      const path = `/api/office/export.zip${part === "all" ? "" : `?${query}`}`;
      const bytes = await saveLarge(path, w.name, stop.current.signal, count);
      count(bytes);
      say(bytes !== undefined);
    });
  const done = () => {
    stop.current.abort();
    onDone();
  };
  return (
    <section class="take-out" aria-label={w.title}>
      <h2>{w.title}</h2>
      <p>{w.hint}</p>
      <p class="caution">{w.secret}</p>
      {query === "" ? null : (
        <Choice
          label={w.which}
          value={part}
          options={[
            ["some", w.some(found)],
            ["all", w.all],
          ]}
          onChange={choose}
        />
      )}
      <p role="status">{come === undefined ? "" : whole ? w.done(come / mega) : d.busy ? w.going(come / mega) : ""}</p>
      <Complaint error={d.error} />
      <div class="buttons">
        <Button kind="main" disabled={d.busy} onClick={go}>
          {w.go}
        </Button>
        {d.busy ? <Button onClick={() => stop.current.abort()}>{w.stop}</Button> : null}
        <Button onClick={done}>{w.back}</Button>
      </div>
    </section>
  );
}
