import { alike } from "../../wire/alike";
import type { RoundInput, RoundOutput } from "../../wire/calculations.gen";
import { type RecordState, text } from "../../wire/records";
import { contested } from "../../records/contested";
import { roundWords as w } from "../../words/rounds";
import { showDate, words } from "../../words/words";
import { type Planned, plannedOf, type Stop, takenBack } from "../../records/stops";

export type Colleague = { id: string; name: string; role: string; sites: string[] };
type Warning = RoundOutput["stops"][number]["warnings"][number];
export type Draft = { date: string; person: string; title: string; stops: Planned[] };

/** moved gives the stops with one of them moved by some places, at most to an end. */
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
 * offered suggests a title for a round: the area that all its instruments share, if there is one,
 * and their number.
 */
export function offered(instruments: readonly (RecordState | undefined)[]): string {
  const areas = new Set(instruments.map((i) => text(i, "area")));
  return w.offered(areas.size === 1 ? ([...areas][0] ?? "") : "", instruments.length);
}

/** The round that is asked about: "" is the id of a new one. */
type Beside = { id: string; rounds: readonly RecordState[]; person: Colleague | undefined };

/**
 * roundAsked writes the input for a round as it is planned. A standard that is tested needs no
 * method.
 */
export function roundAsked(
  d: Draft,
  { id, rounds, person }: Beside,
  instrumentOf: (id: string) => RecordState | undefined,
  hasMethod: (stop: Planned) => boolean,
): RoundInput {
  return {
    round: { id, date: d.date, person: d.person, title: d.title },
    stops: d.stops.map((s) => {
      const it = instrumentOf(s.instrument);
      return {
        id: s.instrument,
        site: it?.site ?? "",
        due: text(it, "due"),
        status: text(it, "status"),
        contested: it ? Object.keys(it.fields).filter((f) => contested(it, f)) : [],
        method: it?.kind === "standard" || hasMethod(s),
      };
    }),
    rounds: rounds.map((r) => ({
      id: r.id,
      date: text(r, "date"),
      title: text(r, "title"),
      stops: plannedOf(r).map((s) => s.instrument),
      taken_back: takenBack(r) !== "",
    })),
    sites: person?.sites ?? [],
  };
}

/** warned lists the warnings about a stop. None of them forbids it. */
export function warned({ code, title = "", date = "", fields = "", status = "" }: Warning): string {
  switch (code) {
    case "elsewhere":
      return w.warn.elsewhere(title, showDate(date));
    case "early":
      return w.warn.early(showDate(date));
    case "contested":
      return w.warn.contested(fields);
    case "service":
      return w.warn.service(status);
    case "site":
      return w.warn.site;
    default:
      return code satisfies never;
  }
}

/** isDay says whether a text is a day as a calendar has it. */
export const isDay = (text: string) => /^\d{4}-\d\d-\d\d$/.test(text) && !Number.isNaN(Date.parse(text));

export type Wrong = { date?: string; person?: string; title?: string; stops?: string };

/** wrongIn says which field is wrong. methodless are the tags of stops without a method. */
export function wrongIn(found: RoundOutput["wrong"], methodless: readonly string[]): Wrong {
  const wrong: Wrong = {};
  for (const { field, code } of found) {
    const missing = { date: w.need.date, person: w.need.person, title: w.need.name, stops: w.need.stops }[field];
    wrong[field] =
      code === "missing"
        ? missing
        : code === "methods"
          ? w.need.methods(methodless.join(", "))
          : code === "many"
            ? w.need.many
            : w.need.long;
  }
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
 * peopleOf lists the people that rounds can be for, by name, so that one can be chosen. A person
 * who was chosen stays in the list. Whether a name is unknown is only said once the names have
 * come.
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
 * sorted divides the rounds of a plant by a day: its own, the coming ones, the past ones latest
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
