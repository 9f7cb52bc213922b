import { useEffect, useState } from "preact/hooks";
import { Button } from "../parts/button";
import { useLink, useQueue } from "../nav/status";
import type { RecordState } from "../wire/records";
import { pathName } from "../words/member-names";
import { officeWords } from "../words/office";
import { showDateTime, words } from "../words/words";
import { useAsk, Waiting } from "../nav/asking";
import { fieldName, type Past, type PastSet, showValue } from "../records/office";

const w = officeWords.history;
const few = 30;

/** sides gives the value before and the value after; for values with members, those that differ. */
function sides(s: PastSet): [string, string] {
  if (!s.differs || s.differs.length === 0) return [s.first ? "" : showValue(s.before), shown(s)];
  const side = (of: "before" | "after") =>
    s.differs?.map((d) => `${pathName(d.field, d.named)}: ${showValue(d[of])}`).join("; ") ?? "";
  return [side("before"), side("after")];
}

function shown(s: PastSet): string {
  return s.value === null && s.bytes > 4 ? w.long : showValue(s.value);
}

/** HistoryList shows who changed what and when, newest first. */
export function HistoryList({ history }: { history: Past[] }) {
  const [all, setAll] = useState(false);
  const lines = history.flatMap((p) => p.set.map((s) => ({ p, s }))).reverse();
  if (lines.length === 0) return <p class="quiet">{w.none}</p>;
  return (
    <>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard */}
      <section class="wide-table changes" tabIndex={0} aria-label={w.title}>
        <table>
          <thead>
            <tr>
              <th scope="col">{w.when}</th>
              <th scope="col">{w.who}</th>
              <th scope="col">{w.field}</th>
              <th scope="col">{w.before}</th>
              <th scope="col">{w.after}</th>
            </tr>
          </thead>
          <tbody>
            {(all ? lines : lines.slice(0, few)).map(({ p, s }) => (
              <tr key={`${p.change} ${s.field}`}>
                <td class="number">{showDateTime(p.wall)}</td>
                <td>{p.author === p.device ? w.office : p.author}</td>
                <td>{fieldName(p.kind, s.field)}</td>
                <td class="before">{sides(s)[0]}</td>
                <td>{sides(s)[1]}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {!all && lines.length > few ? <Button onClick={() => setAll(true)}>{w.show(lines.length)}</Button> : null}
    </>
  );
}

/**
 * RecordChanges shows who changed what on a record that may have been edited here: the office
 * cannot list what is not sent yet.
 */
export function RecordChanges({ record }: { record: RecordState }) {
  const queue = useQueue();
  if (queue === undefined) return <p class="quiet">{words.shell.loading}</p>;
  return queue.count > 0 ? <p class="quiet">{w.sending}</p> : <KnownChanges record={record} />;
}

function KnownChanges({ record }: { record: RecordState }) {
  const asked = useAsk<{ history: Past[] }>(`/api/office/history/${encodeURIComponent(record.id)}`);
  const heads = Object.values(record.fields).flatMap((f) => f.heads.map((h) => h.change)).length;
  const sent = useLink().last;
  useEffect(() => asked.again(), [heads, sent]);
  return (
    <>
      <Waiting asked={asked} />
      {asked.reply ? <HistoryList history={asked.reply.history} /> : null}
    </>
  );
}

/** HistoryScreen shows the history of one record. */
export function HistoryScreen({ id }: { id: string }) {
  const asked = useAsk<{ history: Past[] }>(`/api/office/history/${encodeURIComponent(id)}`);
  return (
    <>
      <h1>{w.title}</h1>
      <Waiting asked={asked} />
      {asked.reply ? <HistoryList history={asked.reply.history} /> : null}
    </>
  );
}
