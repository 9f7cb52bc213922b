import { useEffect, useRef, useState } from "preact/hooks";
import { inForce } from "../../forms/keep-method";
import { put } from "../../nav/keep";
import { Complaint, saying, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { useLink, useQueue } from "../../nav/status";
import { LinkError } from "../../link/link";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { showValue } from "../../records/office";
import type { Json, RecordState } from "../../wire/records";
import { pathName } from "../../words/member-names";
import { approvalWords as w } from "../../words/approvals";
import { showDateTime, words } from "../../words/words";

type Differing = { field: string; named?: { [path: string]: string }; before: Json; after: Json };
type Waits = {
  user: string;
  change: string;
  by: string;
  at: string;
  name: string;
  why: string;
  from: number;
  own: boolean;
  fields: Differing[];
  sent_back: { by: string; at: string; why: string } | null;
  used: number;
  refused: number;
  refusals: { id: string; tag: string; why: string }[];
};
type Version = {
  version: number;
  at: string;
  by: string;
  approved: string;
  alone: boolean;
  why: string;
  note: string;
  fields: Differing[];
};
type Page = { version: number; alone: boolean; waiting: Waits[]; versions: Version[] };

const most = 400;

/** Differences shows the differences between two versions, member by member. */
function Differences({ fields, was, is }: { fields: Differing[]; was: string; is: string }) {
  if (fields.length === 0) return <p class="quiet">{w.noDifference}</p>;
  const lined = (v: Json) =>
    Array.isArray(v) && v.length > 1 && v.every((x) => typeof x === "string" && x.includes(" "))
      ? v.map((line, i) => <div key={i}>{String(line)}</div>)
      : showValue(v, most);
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
    <section class="wide-table changes" tabIndex={0} aria-label={w.member}>
      <table>
        <thead>
          <tr>
            <th scope="col">{w.member}</th>
            <th scope="col">{was}</th>
            <th scope="col">{is}</th>
          </tr>
        </thead>
        <tbody>
          {fields.map((f) => (
            <tr key={f.field}>
              <td>{pathName(f.field, f.named)}</td>
              <td class="before">{lined(f.before)}</td>
              <td>{lined(f.after)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/**
 * OneDraft is one draft: its differences, the instruments that it affects, and the decision on it.
 */
function OneDraft({
  record,
  page,
  draft,
  done,
}: {
  record: RecordState;
  page: Page;
  draft: Waits;
  done: (said: string) => void;
}) {
  const [note, setNote] = useState("");
  const [back, sendBack] = useState<string | undefined>();
  const d = useDoing();
  const next = page.version + 1;
  const explain = (e: unknown) => (e instanceof LinkError && w.conflict[e.code]) || saying(e);
  const approve = () =>
    d.run(async () => {
      try {
        const asked = {
          draft: draft.user,
          change: draft.change,
          version: page.version,
          note: note.trim(),
          alone: draft.own,
        };
        await send(`/api/office/methods/${encodeURIComponent(record.id)}/approve`, asked);
        done(w.approved(next));
      } catch (e) {
        done("");
        throw e;
      }
    }, explain);
  const write = (field: string, value: Json) =>
    d.run(async () => {
      await put(record, { [field]: value });
      done("");
    });
  const decide = draft.own ? page.alone : true;
  return (
    <section class="office-form" aria-label={w.draftBy(draft.by, showDateTime(draft.at))}>
      <h3>{w.draftBy(draft.by, showDateTime(draft.at))}</h3>
      <p>{draft.why === "" ? w.noReason : w.reason(draft.why)}</p>
      {draft.sent_back ? (
        <p class="caution">{w.sentBack(draft.sent_back.by, showDateTime(draft.sent_back.at), draft.sent_back.why)}</p>
      ) : null}
      {draft.from === page.version ? null : <p class="caution">{w.stale(draft.from, page.version)}</p>}
      <Differences fields={draft.fields} was={w.was} is={w.is} />
      {draft.used > 0 ? <p>{w.used(draft.used)}</p> : null}
      {draft.refused > 0 ? (
        <div class="caution">
          <p>{w.cannot(draft.refused)}</p>
          <ul>
            {draft.refusals.map((r) => (
              <li key={r.id}>
                <a href={`/instrument/${r.id}`}>{r.tag}</a>: {r.why}
              </li>
            ))}
            {draft.refused > draft.refusals.length ? <li>{w.more(draft.refused - draft.refusals.length)}</li> : null}
          </ul>
        </div>
      ) : null}
      {draft.own ? <p class="quiet">{page.alone ? w.aloneHint : w.ownDraft}</p> : null}
      {decide ? <Field label={w.noteLabel} value={note} onInput={setNote} /> : null}
      {back === undefined ? null : <Field label={w.sendBackWhy} value={back} onInput={sendBack} />}
      <Complaint error={d.error} />
      <div class="buttons">
        {decide ? (
          <Button kind="main" disabled={d.busy} onClick={approve}>
            {draft.own ? w.approveAlone(next) : w.approve(next)}
          </Button>
        ) : null}
        {draft.own ? (
          <Button disabled={d.busy} onClick={() => write(`draft.${draft.user}`, null)}>
            {w.withdraw}
          </Button>
        ) : (
          <Button
            disabled={d.busy}
            onClick={() =>
              back === undefined
                ? sendBack("")
                : back.trim() === ""
                  ? d.say(w.sendBackNeeded)
                  : write(`sent_back.${draft.user}`, { of: draft.change, why: back.trim() })
            }
          >
            {w.sendBack}
          </Button>
        )}
      </div>
    </section>
  );
}

/**
 * Approvals shows the drafts of a method that wait for a second person, and the past versions:
 * their author, who put them into force, why, and what differed. The office is asked once it can have
 * the method: before that its answer would be that there is none.
 */
export function Approvals(props: { record: RecordState; said: (text: string) => void }) {
  const queue = useQueue();
  const there = useRef(false);
  if (inForce(props.record) || queue?.count === 0) there.current = true;
  if (there.current) return <KnownApprovals {...props} />;
  return <p class="quiet">{queue === undefined ? words.shell.loading : w.waitingSending}</p>;
}

function KnownApprovals({ record, said }: { record: RecordState; said: (text: string) => void }) {
  const asked = useAsk<Page>(`/api/office/methods/${encodeURIComponent(record.id)}`);
  const heads = Object.values(record.fields)
    .flatMap((f) => f.heads.map((h) => h.change))
    .join(" ");
  const sent = useLink().last;
  const unsent = (useQueue()?.count ?? 0) > 0;
  useEffect(() => asked.again(), [heads, sent, unsent]);
  const page = asked.reply;
  if (!page) return unsent && asked.error ? <p class="quiet">{w.waitingSending}</p> : <Waiting asked={asked} />;
  const done = (text: string) => {
    said(text);
    asked.again();
  };
  return (
    <>
      {page.waiting.length > 0 || unsent ? <h2>{w.waiting}</h2> : null}
      {unsent ? <p class="quiet">{w.waitingSending}</p> : null}
      {page.waiting.map((d) => (
        <OneDraft key={d.user} record={record} page={page} draft={d} done={done} />
      ))}
      {page.versions.length > 0 ? <h2>{w.versions}</h2> : null}
      <ol class="versions" reversed>
        {page.versions.map((v) => (
          <li key={v.version} value={v.version}>
            <p>
              <strong>{w.version(v.version)}</strong>
              {`, ${[
                showDateTime(v.at),
                w.writtenBy(v.by),
                v.approved === "" ? w.putUnknown : v.alone ? w.putAlone(v.approved) : w.putBy(v.approved),
              ].join(", ")}`}
            </p>
            {v.why === "" ? null : <p>{w.reason(v.why)}</p>}
            {v.note === "" ? null : <p>{v.note}</p>}
            <details>
              <summary>{w.differed}</summary>
              <Differences fields={v.fields} was={w.before} is={w.after} />
            </details>
          </li>
        ))}
      </ol>
    </>
  );
}
