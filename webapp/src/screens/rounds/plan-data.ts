import { alike } from "../../wire/alike";
import { type RecordState, text } from "../../wire/records";
import { contested } from "../../records/contested";
import { roundWords as w } from "../../words/rounds";
import { showDate, words } from "../../words/words";
import { type Planned, plannedOf, type Stop, takenBack } from "../../records/stops";

export type Colleague = { id: string; name: string; role: string; sites: string[] };
export type Draft = { date: string; person: string; title: string; stops: Planned[] };

/** Days within which another round with the same instrument is named. */
const near = 7;
/** Days before an instrument is due from which on a stop is early. */
const early = 60;
const most = 200;

/** moved gives the stops with one of them some places on; the ends hold. */
export function moved(stops: readonly Planned[], from: number, by: number): Planned[] {
  const to = Math.min(Math.max(from + by, 0), stops.length - 1);
  const next = [...stops];
  const [one] = next.splice(from, 1);
  if (one) next.splice(to, 0, one);
  return next;
}

/** added gives the stops with further instruments at the end, each once. */
export function added(stops: readonly Planned[], ids: readonly string[]): Planned[] {
  const have = new Set(stops.map((s) => s.instrument));
  return [
    ...stops,
    ...[...new Set(ids)].filter((id) => !have.has(id)).map((instrument) => ({ instrument, method: "" })),
  ];
}

/** doneOf counts the stops of a round that are done. */
export function doneOf(stops: Stop[]): number {
  return stops.filter((s) => s.state === "done").length;
}

/**
 * offered gives a title for a round: the area that all its instruments share, if there is one, and
 * how many there are.
 */
export function offered(instruments: readonly (RecordState | undefined)[]): string {
  const areas = new Set(instruments.map((i) => text(i, "area")));
  return w.offered(areas.size === 1 ? ([...areas][0] ?? "") : "", instruments.length);
}

const days = (a: string, b: string) => Math.round((Date.parse(a) - Date.parse(b)) / 86_400_000);

/**
 * warningsOf tells what speaks against an instrument in a round of a day; none of it forbids the
 * stop.
 */
export function warningsOf(
  it: RecordState,
  round: { id: string; date: string },
  rounds: readonly RecordState[],
  person: Colleague | undefined,
): string[] {
  const due = text(it, "due").slice(0, 10);
  const fields = Object.keys(it.fields).filter((f) => contested(it, f));
  const status = text(it, "status");
  return [
    ...rounds
      .filter(
        (r) =>
          r.id !== round.id &&
          takenBack(r) === "" &&
          Math.abs(days(text(r, "date"), round.date)) <= near &&
          plannedOf(r).some((s) => s.instrument === it.id),
      )
      .map((r) => w.warn.elsewhere(text(r, "title"), showDate(text(r, "date")))),
    ...(due !== "" && days(due, round.date) > early ? [w.warn.early(showDate(due))] : []),
    ...(fields.length > 0 ? [w.warn.contested(fields.join(", "))] : []),
    ...(status !== "" && status !== "in service" ? [w.warn.service(status)] : []),
    ...(person && person.sites.length > 0 && it.site !== "" && !person.sites.includes(it.site) ? [w.warn.site] : []),
  ];
}

/** isDay says whether a text is a day as a calendar has it. */
export const isDay = (text: string) => /^\d{4}-\d\d-\d\d$/.test(text) && !Number.isNaN(Date.parse(text));

export type Wrong = { date?: string; person?: string; title?: string; stops?: string };

/**
 * wrongIn says at which field of a planned round something is wrong; methodless are the tags of
 * stops that no method is known for.
 */
export function wrongIn(d: Draft, methodless: readonly string[]): Wrong {
  const wrong: Wrong = {};
  if (!isDay(d.date)) wrong.date = w.need.date;
  if (d.person === "") wrong.person = w.need.person;
  if (d.title.trim() === "") wrong.title = w.need.name;
  else if (new TextEncoder().encode(d.title.trim()).length > most) wrong.title = w.need.long;
  if (d.stops.length === 0) wrong.stops = w.need.stops;
  else if (d.stops.length > most) wrong.stops = w.need.many;
  else if (methodless.length > 0) wrong.stops = w.need.methods(methodless.join(", "));
  return wrong;
}

/**
 * changedIn gives the fields in which a draft differs from its round, so that a change writes no
 * others.
 */
export function changedIn(d: Draft, round: RecordState | undefined): { [field: string]: string | Planned[] } {
  const was: Draft | undefined = round && {
    date: text(round, "date"),
    person: text(round, "person"),
    title: text(round, "title"),
    stops: plannedOf(round),
  };
  const out: { [field: string]: string | Planned[] } = {};
  if (d.date !== was?.date) out["date"] = d.date;
  if (d.person !== was?.person) out["person"] = d.person;
  if (d.title.trim() !== was?.title) out["title"] = d.title.trim();
  if (!alike(d.stops, was?.stops)) out["stops"] = d.stops;
  return out;
}

/**
 * peopleOf lists whom rounds are for, by name, so that one of them can be chosen; one who was
 * chosen stays in it. Whether a name is known is not said before the names have come.
 */
export function peopleOf(
  rounds: readonly RecordState[],
  names: ReadonlyMap<string, string>,
  chosen: string,
  come = true,
): [string, string][] {
  const ids = new Set([...rounds.map((r) => text(r, "person")), chosen]);
  ids.delete("");
  return [...ids]
    .map((id): [string, string] => [id, names.get(id) || (come ? w.anyone : words.shell.loading)])
    .sort((a, b) => a[1].localeCompare(b[1]));
}

/**
 * sorted parts the rounds of a plant by a day: its own, the coming ones, the past ones latest
 * first, and those that were taken back.
 */
export function sorted(rounds: readonly RecordState[], today: string) {
  const by = [...rounds].sort((a, b) =>
    text(a, "date") + text(a, "title") < text(b, "date") + text(b, "title") ? -1 : 1,
  );
  const stand = by.filter((r) => takenBack(r) === "");
  return {
    today: stand.filter((r) => text(r, "date") === today),
    coming: stand.filter((r) => text(r, "date") > today),
    past: stand.filter((r) => text(r, "date") < today).reverse(),
    taken: by.filter((r) => takenBack(r) !== "").reverse(),
  };
}
