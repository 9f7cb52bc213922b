import { useEffect, useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Complaint, save, useDoing } from "../../nav/asking";
import { Button } from "../../parts/button";
import { eventsWords as w } from "../../words/events";
import { showDateTime, words } from "../../words/words";

type Happened = { seq: number; at: string; kind: string; by: string; about: string; address: string; detail: string };
type Reply = { events: Happened[]; more: number };

/** EventsScreen shows what was done to accounts, backups and quarantined work, the newest first. */
export function EventsScreen() {
  const [list, setList] = useState<Happened[] | undefined>();
  const [more, setMore] = useState(0);
  const d = useDoing();
  const next = () =>
    d.run(async () => {
      const reply = (await ask(`/api/events${more > 0 ? `?before=${more}` : ""}`)) as Reply;
      setList([...(list ?? []), ...reply.events]);
      setMore(reply.more);
    });
  useEffect(next, []);
  return (
    <>
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <div class="buttons">
        <Button disabled={d.busy} onClick={() => d.run(() => save("/api/events.csv", "gaugewright-events.csv"))}>
          {w.save}
        </Button>
      </div>
      <Complaint error={d.error} />
      {list === undefined && d.error === undefined ? <p class="quiet">{words.shell.loading}</p> : null}
      {list?.length === 0 ? <p>{w.none}</p> : null}
      <ul class="rows">
        {list?.map((e) => (
          <li key={e.seq}>
            <p>
              <span class="lead">{w.kinds[e.kind] ?? e.kind}</span>
              {e.about === "" || e.about === e.by ? "" : `: ${e.about}`}
              <br />
              <span class="small quiet">
                {[showDateTime(e.at), e.by || (e.detail === "command line" ? "" : w.nobody), e.address, e.detail]
                  .filter(Boolean)
                  .join(" · ")}
              </span>
            </p>
          </li>
        ))}
      </ul>
      {more === 0 ? null : (
        <Button disabled={d.busy} onClick={next}>
          {w.more}
        </Button>
      )}
    </>
  );
}
