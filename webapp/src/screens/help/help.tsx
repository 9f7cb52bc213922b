import { helpWords as w } from "../../words/help";

/** HelpScreen is one page of help, or the list of them. */
export function HelpScreen({ page }: { page: string | undefined }) {
  const one = page === undefined ? undefined : w.pages[page];
  if (one)
    return (
      <article class="help">
        <h1>{one.title}</h1>
        <p>{one.about}</p>
        {page === "day" ? (
          <ol>
            {one.points.map((p) => (
              <li key={p}>{p}</li>
            ))}
          </ol>
        ) : (
          <ul>
            {one.points.map((p) => (
              <li key={p}>{p}</li>
            ))}
          </ul>
        )}
        <p class="small quiet">{w.caution}</p>
        <p>
          <a href="/help">{w.all}</a>
        </p>
      </article>
    );
  return (
    <article class="help">
      <h1>{w.title}</h1>
      <ul class="rows">
        {Object.entries(w.pages).map(([name, p]) => (
          <li key={name}>
            <a href={`/help/${name}`}>
              <span class="lead">{p.title}</span> <span class="quiet">{p.about}</span>
            </a>
          </li>
        ))}
      </ul>
      <p class="small quiet">{w.caution}</p>
    </article>
  );
}
