import { Button } from "../../parts/button";
import { Complaint, save, useDoing } from "../../nav/asking";
import { nextOf } from "../../nav/list";
import { deskWords } from "../../words/desk";
import { language } from "../../words/language";
import type { VisitReply } from "../../records/office";

const w = deskWords;

/** Pair says who worked on a visit, and whether the present viewer may approve it. */
export function Pair({ reply }: { reply: VisitReply }) {
  const { pair } = reply;
  if (!pair) return null;
  return (
    <div class={pair.own || !pair.authorised || !pair.issues ? "caution" : ""}>
      <p class="small">
        <strong>{w.pair.title}:</strong> {w.pair.worked(pair.worked.join(", "))} {pair.own ? w.pair.own : w.pair.other}
      </p>
      {pair.authorised ? null : <p class="small">{w.pair.unauthorised}</p>}
      {pair.issues ? null : <p class="small">{w.pair.noIssue}</p>}
    </div>
  );
}

/** Onward leads back to the list that somebody works through, and on to its next item. */
export function Onward({ id }: { id: string }) {
  const next = nextOf(id);
  return (
    <nav class="onward" aria-label={w.queue.title}>
      <a href="/office">{w.queue.back}</a>
      {next ? <a href={`/office/visit/${next.id}`}>{w.queue.next(next.tag)}</a> : null}
    </nav>
  );
}

/** Dossier fetches everything of an instrument as one file. */
export function Dossier({ id, tag }: { id: string; tag: string }) {
  const d = useDoing();
  return (
    <>
      <Button
        kind="quiet"
        disabled={d.busy}
        onClick={() =>
          d.run(() =>
            save(`/api/office/instruments/${id}/dossier.pdf?language=${language}`, `dossier-${tag || id}.pdf`),
          )
        }
      >
        {w.dossier}
      </Button>
      <Complaint error={d.error} />
    </>
  );
}
