import { useLink } from "../../shell/status";
import { useKind } from "../../store/hooks";
import { asText, object, text, value } from "../../wire/records";
import { showDate, words } from "../../words/words";
import { localDay, stopsOf } from "./stops";

export { type Stop, stopsOf } from "./stops";

/** RoundScreen lists today's stops in order, with how far each is, and whatever else was begun and not signed. */
export function RoundScreen() {
  const rounds = useKind("round");
  const visits = useKind("visit");
  const instruments = useKind("instrument");
  const { user, whole, running } = useLink();
  const w = words.round;
  if (!rounds || !visits || !instruments) return <p class="quiet">{words.shell.loading}</p>;
  const today = localDay(new Date());
  const mine = rounds.filter((r) => text(r, "date").slice(0, 10) === today && (text(r, "person") === "" || text(r, "person") === user?.id));
  const byId = new Map(instruments.map((i) => [i.id, i]));
  const planned = new Set(mine.map((r) => r.id));
  const begun = visits.filter(
    (v) => text(v, "person") === user?.id && value(v, "signature") === undefined && value(v, "approval") === undefined && !planned.has(text(v, "round")),
  );
  return (
    <>
      <h1>
        {w.title} <span class="quiet">{showDate(today)}</span>
      </h1>
      {whole ? null : <p role="status">{running ? w.arriving(instruments.length) : w.broken(instruments.length)}</p>}
      {mine.length === 0 && whole ? (
        <>
          <p>{w.none}</p>
          <p class="quiet">
            {w.noneHint} <a href="/find">{words.find.title}</a>
          </p>
        </>
      ) : null}
      {mine.map((round) => {
        const stops = stopsOf(round, visits);
        return (
          <section key={round.id}>
            <h2>
              {text(round, "title") || w.stops} · {w.of(stops.filter((s) => s.state === "done").length, stops.length)}
            </h2>
            <ol class="rows stops">
              {stops.map((stop) => {
                const i = byId.get(stop.instrument);
                return (
                  <li key={stop.instrument} class={stop.state}>
                    <a href={`/instrument/${stop.instrument}`}>
                      <span>
                        <span class="lead">{i ? text(i, "tag") : w.unknown}</span> <span>{i ? text(i, "description") : ""}</span>
                        <br />
                        <span class="small quiet">{i ? [text(i, "area"), text(i, "place")].filter(Boolean).join(" · ") : ""}</span>
                      </span>
                      <span class="side state">{w[stop.state]}</span>
                    </a>
                  </li>
                );
              })}
            </ol>
          </section>
        );
      })}
      {begun.length > 0 ? (
        <section>
          <h2>{w.begun}</h2>
          <ul class="rows">
            {begun.map((v) => (
              <li key={v.id}>
                <a href={`/visit/${v.id}`}>
                  <span class="lead">{asText(object(v, "item")["tag"])}</span>
                  <span class="side">{showDate(text(v, "started"))}</span>
                </a>
              </li>
            ))}
          </ul>
        </section>
      ) : null}
      <p>
        <a class="button plain tall" href="/programmes">
          {w.programmes}
        </a>
      </p>
    </>
  );
}
