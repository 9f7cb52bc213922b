import { officeWords } from "../../words/office";
import type { VisitReply } from "../../records/office";

const w = officeWords.visit;

/** ManifoldSet names the gauges that were on one manifold, in the order in which they were read. */
export function ManifoldSet({ reply }: { reply: VisitReply }) {
  const set = reply.together ?? [];
  return set.length === 0 ? null : (
    <section aria-label={w.together(set.length)}>
      <h3>{w.together(set.length)}</h3>
      <ol class="manifold-set">
        {set.map((one) => (
          <li key={one.visit}>
            {one.visit === reply.visit.id ? (
              <strong>{one.tag}</strong>
            ) : one.tag === "" ? (
              <span class="quiet">{w.togetherMissing}</span>
            ) : (
              <a href={`/office/visit/${one.visit}`}>{one.tag}</a>
            )}{" "}
            <span class="small quiet">
              {one.visit === reply.visit.id ? w.togetherThis : (officeWords.status[one.status] ?? one.status)}
            </span>
          </li>
        ))}
      </ol>
    </section>
  );
}
