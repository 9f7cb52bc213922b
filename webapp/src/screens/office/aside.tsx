import { Button } from "../../parts/button";
import { download } from "../../parts/download";
import { officeWords } from "../../words/office";
import { showDateTime } from "../../words/words";
import { useAsk, Waiting } from "./asking";
import type { Aside } from "./office-data";

const w = officeWords.aside;

/** AsideScreen lists what arrived and was not taken in, with the reason. */
export function AsideScreen() {
  const asked = useAsk<{ quarantined: Aside[] }>("/api/office/quarantine");
  const list = asked.reply?.quarantined;
  return (
    <>
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      {list?.length === 0 ? <p>{w.none}</p> : null}
      <ul class="rows aside">
        {(list ?? []).map((a) => (
          <li key={a.seq}>
            <p>
              <span class="lead">{a.reason}</span>
              <br />
              {a.kind === "" ? w.unreadable(a.bytes) : `${a.kind}: ${a.set.map((s) => s.field).join(", ")}`}
              <br />
              <span class="small quiet">{a.author === "" ? "" : w.from(a.author, showDateTime(a.wall))}</span>
            </p>
            {a.kind === "" ? null : <a href={`/office/history/${a.record}`}>{officeWords.register.changes}</a>}
            {a.sent === null ? null : (
              <Button onClick={() => download(`set-aside-${a.seq}.json`, new Blob([JSON.stringify(a.sent)], { type: "application/json" }))}>{w.save}</Button>
            )}
          </li>
        ))}
      </ul>
    </>
  );
}
