import { useState } from "preact/hooks";
import { LinkError } from "../../link/link";
import { Button } from "../../parts/button";
import type { Json } from "../../wire/records";
import { syncWords } from "../../words/sync";
import { showDateTime } from "../../words/words";
import { Complaint, saying, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { fieldName, showValue } from "../../records/office";

const w = syncWords.contested;

type Row = { id: string; kind: string; title: string; fields: string[] };
type Standing = {
  change: string;
  value: Json;
  shown?: string;
  bytes: number;
  author: string;
  device: string;
  wall: string;
  seen?: Standing[];
};
type ContestedField = { field: string; may: boolean; values: Standing[] };
type Reply = { id: string; kind: string; title: string; parent: string; fields: ContestedField[] };

const kindName = (kind: string) => w.kinds[kind] ?? kind;
const shown = (v: Standing) => v.shown ?? (v.value === null && v.bytes > 4 ? w.long(v.bytes) : showValue(v.value, 600));

/** ContestedList lists every record with contested values. */
export function ContestedList() {
  const asked = useAsk<{ records: Row[]; more: number }>("/api/office/contested");
  const list = asked.reply?.records;
  return (
    <>
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      {list === undefined ? null : <p role="status">{list.length === 0 ? w.none : w.count(list.length)}</p>}
      <ul class="rows contested-list">
        {(list ?? []).map((r) => (
          <li key={r.id}>
            <a href={`/office/contested/${r.id}`}>
              <span>
                <span class="lead">{r.title || w.unnamed}</span> <span class="quiet">{kindName(r.kind)}</span>
                <br />
                <span class="small">{r.fields.map((f) => fieldName("", f)).join(", ")}</span>
              </span>
            </a>
          </li>
        ))}
      </ul>
      {asked.reply && asked.reply.more > 0 ? <p class="quiet">{w.more(asked.reply.more)}</p> : null}
    </>
  );
}

function Value({ v, may, busy, onChoose }: { v: Standing; may: boolean; busy: boolean; onChoose: () => void }) {
  return (
    <li>
      <p class="lead">{shown(v)}</p>
      <dl class="facts">
        <dt>{w.who}</dt>
        <dd>{v.author}</dd>
        <dt>{w.when}</dt>
        <dd>{showDateTime(v.wall)}</dd>
        <dt>{w.device}</dt>
        <dd>{v.device.slice(0, 6)}</dd>
        <dt>{w.based}</dt>
        <dd>
          {v.seen && v.seen.length > 0
            ? v.seen.map((s) => (
                <p key={s.change}>
                  {shown(s)}{" "}
                  <span class="small quiet">
                    {s.author}, {showDateTime(s.wall)}
                  </span>
                </p>
              ))
            : w.first}
        </dd>
      </dl>
      {may ? (
        <Button disabled={busy} label={w.chooseLabel(shown(v), v.author)} onClick={onChoose}>
          {w.choose}
        </Button>
      ) : null}
    </li>
  );
}

/**
 * ContestedRecord shows the contested values of one record, and settles them.
 */
export function ContestedRecord({ id }: { id: string }) {
  const path = `/api/office/contested/${encodeURIComponent(id)}`;
  const asked = useAsk<Reply>(path);
  const [said, setSaid] = useState("");
  const d = useDoing();
  const choose = (f: ContestedField, change: string) =>
    d.run(
      async () => {
        setSaid("");
        await send(path, { field: f.field, heads: f.values.map((v) => v.change), choose: change });
        setSaid(w.chosen);
        asked.again();
      },
      (e) => {
        if (!(e instanceof LinkError) || e.code !== "changed") return saying(e);
        asked.again();
        return w.changed;
      },
    );
  const r = asked.reply;
  return (
    <>
      <p>
        <a href="/office/contested">{w.back}</a>
      </p>
      <h1>
        {r ? r.title || w.unnamed : w.title} {r ? <span class="quiet">{kindName(r.kind)}</span> : null}
      </h1>
      <Waiting asked={asked} />
      <p role="status">{said}</p>
      <Complaint error={d.error} />
      {r && r.fields.length === 0 ? <p>{w.settled}</p> : null}
      {(r?.fields ?? []).map((f) => (
        <section key={f.field}>
          <h2>{fieldName("", f.field)}</h2>
          {f.may ? null : <p class="quiet">{w.notYours}</p>}
          <ul class="against">
            {f.values.map((v) => (
              <Value key={v.change} v={v} may={f.may} busy={d.busy} onChoose={() => choose(f, v.change)} />
            ))}
          </ul>
        </section>
      ))}
      <p>
        <a href={`/office/history/${id}`}>{w.history}</a>
      </p>
    </>
  );
}
