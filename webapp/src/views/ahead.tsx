import { useLive } from "../store/hooks";
import { keyTo } from "../store/shelf";
import { byKey, byKind, record } from "../store/store";
import { list, type RecordState, text } from "../wire/records";
import { aheadWords as w } from "../words/ahead";
import { showDate } from "../words/words";
import { stillBegun } from "../records/back";
import { plannedOf, takenBack } from "../records/stops";

type Ahead = { coming: RecordState[]; back: RecordState[]; without: RecordState[] };

/**
 * aheadOf reads what is ahead of a person: the rounds of the coming days, and what became of the
 * rounds of their open visits.
 */
export async function aheadOf(today: string, person: string): Promise<Ahead> {
  const mine = (await byKind("round")).filter((r) => text(r, "person") === "" || text(r, "person") === person);
  const begun = await stillBegun(await byKey(keyTo.begun(person)));
  const rounds = await Promise.all(
    [...new Set(begun.map((v) => text(v, "round")).filter(Boolean))].map((id) => record(id)),
  );
  const back = rounds.filter((r) => r !== undefined && takenBack(r) !== "") as RecordState[];
  const without = begun.filter((v) => {
    const round = rounds.find((r) => r?.id === text(v, "round"));
    return round && takenBack(round) === "" && !plannedOf(round).some((s) => s.instrument === text(v, "instrument"));
  });
  return {
    coming: mine
      .filter((r) => takenBack(r) === "" && text(r, "date") > today)
      .sort((a, b) => (text(a, "date") < text(b, "date") ? -1 : 1)),
    back,
    without,
  };
}

/**
 * Coming shows a person the rounds of the coming days, and the rounds that the office took back or
 * shortened while a visit of theirs was open.
 */
export function Coming({ today, person }: { today: string; person: string }) {
  const ahead = useLive(
    () => aheadOf(today, person),
    (n) => n.kinds.includes("round") || n.kinds.includes("visit"),
    [today, person],
  );
  if (!ahead) return null;
  return (
    <>
      {ahead.back.map((r) => (
        <p key={r.id} role="status">
          {w.tookBack(text(r, "title"), takenBack(r))}
        </p>
      ))}
      {ahead.without.length > 0 ? <p role="status">{w.leftOut}</p> : null}
      {ahead.coming.length === 0 ? null : (
        <section>
          <h2>{w.comingTitle}</h2>
          <ul class="rows">
            {ahead.coming.map((r) => (
              <li key={r.id} class="coming">
                <span>
                  <span class="lead">{showDate(text(r, "date"))}</span> {text(r, "title")}
                </span>{" "}
                <span class="side">{w.stops(list(r, "stops").length)}</span>
              </li>
            ))}
          </ul>
        </section>
      )}
    </>
  );
}
