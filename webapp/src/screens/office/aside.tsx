import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { download } from "../../parts/download";
import { Field } from "../../parts/field";
import { officeWords } from "../../words/office";
import { sentence, showDateTime } from "../../words/words";
import { Complaint, saying, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import {
  type Aside,
  type AsideGroup,
  asideGroups,
  type Back,
  backFields,
  fieldName,
  showValue,
} from "../../records/office";

const w = officeWords.aside;

/** what names in words the fields that an entry would set. */
function what(a: Aside): string {
  if (a.kind === "") return w.unreadable(a.bytes);
  return a.set
    .map((s) =>
      s.value === null && s.bytes > 4
        ? fieldName(a.kind, s.field)
        : `${fieldName(a.kind, s.field)}: ${showValue(s.value, 60)}`,
    )
    .join("; ");
}

function Entry({ a, chosen, choose }: { a: Aside; chosen: boolean; choose: ((on: boolean) => void) | undefined }) {
  return (
    <li>
      <div>
        {choose ? <Check label={what(a)} checked={chosen} onChange={choose} /> : <p>{what(a)}</p>}
        <p class="small quiet">
          {[sentence(a.reason), a.wall === "" ? "" : showDateTime(a.wall), a.from === "" ? "" : w.brought(a.from)]
            .filter(Boolean)
            .join(" · ")}
          {a.closed
            ? ` · ${w.closed(a.closed.how, a.closed.by ?? "", showDateTime(a.closed.at), a.closed.why ?? "")}`
            : ""}
        </p>
      </div>
      {a.kind === "" ? null : <a href={`/office/history/${a.record}`}>{officeWords.register.changes}</a>}
      {a.sent === null ? null : (
        <Button
          onClick={() =>
            download(`set-aside-${a.seq}.json`, new Blob([JSON.stringify(a.sent)], { type: "application/json" }))
          }
        >
          {w.save}
        </Button>
      )}
    </li>
  );
}

/** Group is what one person wrote on one occasion. It is decided on together, with one reason. */
function Group({ group, onDone }: { group: AsideGroup; onDone: () => void }) {
  const [left, leave] = useState<Set<number>>(new Set());
  const [reason, setReason] = useState("");
  const d = useDoing();
  const open = group.entries.filter((a) => !a.closed);
  const chosen = open.filter((a) => !left.has(a.seq));
  const decide = (how: "take" | "reject") => {
    if (reason.trim() === "") return d.say(w.reasonNeeded);
    d.run(
      async () => {
        const said: string[] = [];
        // In the order in which they came: a run must begin before its readings.
        for (const a of chosen)
          await send(`/api/office/quarantine/${a.seq}/${how}`, { reason: reason.trim() }).catch((e: unknown) =>
            said.push(saying(e)),
          );
        onDone();
        if (said.length > 0) throw new Error([...new Set(said)].join(" "));
        setReason("");
      },
      (e) => (e as Error).message,
    );
  };
  return (
    <section>
      <h2>
        {[group.author || w.nobody, group.visit === "" ? group.tag : w.visit(group.tag)].filter(Boolean).join(", ")}
      </h2>
      <ul class="rows aside">
        {group.entries.map((a) => (
          <Entry
            key={a.seq}
            a={a}
            chosen={!left.has(a.seq)}
            choose={
              a.closed
                ? undefined
                : (on) => {
                    const next = new Set(left);
                    if (on) next.delete(a.seq);
                    else next.add(a.seq);
                    leave(next);
                  }
            }
          />
        ))}
      </ul>
      {open.length === 0 ? null : (
        <>
          <Field label={w.reason} value={reason} onInput={setReason} />
          <div class="buttons">
            <Button kind="main" disabled={d.busy || chosen.length === 0} onClick={() => decide("take")}>
              {w.take(chosen.length)}
            </Button>
            <Button disabled={d.busy || chosen.length === 0} onClick={() => decide("reject")}>
              {w.reject(chosen.length)}
            </Button>
          </div>
        </>
      )}
      <Complaint error={d.error} />
    </section>
  );
}

type Above = { upstream: string; people: { author: string; count: number; oldest: string; reasons: string[] }[] };

/** AboveList lists, on a hub, whose work the office above refuses. */
function AboveList() {
  const asked = useAsk<Above>("/api/hub");
  const d = useDoing();
  const people = asked.reply?.people ?? [];
  if (people.length === 0) return null;
  return (
    <section>
      <h2>{w.above}</h2>
      <p class="quiet">{w.aboveHint}</p>
      <ul class="rows">
        {people.map((p) => (
          <li key={p.author}>
            <p>
              <span class="lead">{p.author}</span> {w.entries(p.count, showDateTime(p.oldest))}
              <br />
              <span class="small quiet">{p.reasons.map(sentence).join(" · ")}</span>
            </p>
          </li>
        ))}
      </ul>
      <Button disabled={d.busy} onClick={() => d.run(async () => void (await send("/api/office/hub/offer", {})))}>
        {w.offer}
      </Button>
      <Complaint error={d.error} />
    </section>
  );
}

/** CameBack lists what was brought back after an older copy of the data was restored. */
function CameBack() {
  const asked = useAsk<{ back: Back[] }>("/api/office/back");
  const list = asked.reply?.back ?? [];
  if (list.length === 0) return null;
  return (
    <section>
      <h2>{w.back}</h2>
      <p class="quiet">{w.backHint}</p>
      <ul class="rows">
        {list.map((g) => (
          <li key={g.author + g.record}>
            <p>
              <span class="lead">
                {[g.author || w.office, g.visit === "" ? g.tag : w.visit(g.tag)].filter(Boolean).join(", ")}
              </span>{" "}
              {w.written(g.count, showDateTime(g.first), showDateTime(g.last))}
              <br />
              {[...g.numbers.map(w.certificate), backFields(g).join(", ")].join("; ")}
              <br />
              <span class="small quiet">{g.by.length === 0 ? "" : w.brought(g.by.join(", "))}</span>
            </p>
            <a href={`/office/history/${g.record}`}>{officeWords.register.changes}</a>
          </li>
        ))}
      </ul>
    </section>
  );
}

/**
 * AsideScreen lists what arrived and was quarantined, with the reason, by person and visit, and
 * lets the office decide on it.
 */
export function AsideScreen() {
  const [closed, showClosed] = useState(false);
  const asked = useAsk<{ quarantined: Aside[]; more: number }>(`/api/office/quarantine${closed ? "?closed=1" : ""}`);
  const groups = asideGroups(asked.reply?.quarantined ?? []);
  return (
    <>
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      {asked.reply && groups.length === 0 ? <p>{w.none}</p> : null}
      {groups.map((g) => (
        <Group key={g.key} group={g} onDone={asked.again} />
      ))}
      {asked.reply && asked.reply.more > 0 ? <p>{w.more(asked.reply.more)}</p> : null}
      {closed ? null : <Button onClick={() => showClosed(true)}>{w.showClosed}</Button>}
      <AboveList />
      <CameBack />
    </>
  );
}
