import assert from "node:assert/strict";
import { test } from "node:test";
import { standardsAsked } from "../src/records/standards";
import { plannedOf, stopsOf, takenBack } from "../src/records/stops";
import {
  added,
  changedIn,
  doneOf,
  moved,
  offered,
  peopleOf,
  roundAsked,
  sorted,
  warned,
  wrongIn,
} from "../src/screens/rounds/plan-data";
import { unserved, within } from "../src/screens/rounds/served";
import type { Candidate } from "../src/records/candidates";
import { keysOf } from "../src/store/shelf";
import { words } from "../src/words/words";
import type { Json, RecordState } from "../src/wire/records";
import { calculate } from "./module";

function made(id: string, kind: string, fields: { [name: string]: Json }, site = ""): RecordState {
  const state: RecordState = { id, kind, site, parent: "", fields: {} };
  for (const [name, value] of Object.entries(fields))
    state.fields[name] = {
      heads: [{ change: "c", value, author: "", device: "", wall: "", stamp: "s" }],
      replaced: [],
    };
  return state;
}

const stops = ["a", "b", "c"].map((instrument) => ({ instrument, method: "" }));
const round = (id: string, date: string, more: { [name: string]: Json } = {}) =>
  made(id, "round", { date, person: "p", title: id, stops, ...more });
const ids = (list: readonly { instrument: string }[]) => list.map((s) => s.instrument).join("");

test("stops are moved, at most to an end; an instrument is added once, at the end", () => {
  assert.equal(ids(moved(stops, 0, 1)), "bac");
  assert.equal(ids(moved(stops, 2, -1)), "acb");
  assert.equal(ids(moved(stops, 0, -1)), "abc");
  assert.equal(ids(moved(stops, 2, 1)), "abc");
  assert.equal(ids(stops), "abc", "the list that was given stays");
  assert.equal(ids(added(stops, ["d", "b", "d"])), "abcd");
});

test("a stop is done when its visit is signed, and no longer when the visit came back", () => {
  const visit = (id: string, instrument: string, more: { [name: string]: Json }) =>
    made(id, "visit", { instrument, round: "r", started: id, ...more });
  const visits = [visit("1", "a", { signature: { name: "A" } }), visit("2", "b", {})];
  const done = (here: RecordState[]) => {
    const back = calculate("visits", { visits: here }).visits.filter((v) => v.sent_back.length > 0);
    return doneOf(stopsOf(round("r", "2026-03-04"), here, new Set(back.map((v) => v.id))));
  };
  assert.equal(done(visits), 1);
  const back = visit("3", "c", { signature: { name: "A" }, "returned.x": { remark: "again" } });
  assert.equal(done([...visits, back]), 2);
  const field = back.fields["returned.x"];
  if (field?.heads[0]) field.heads[0].stamp = "t";
  assert.equal(done([...visits, back]), 1);
});

test("rounds are divided by day; one that was taken back is on no day until it is planned again", () => {
  const back = round("x", "2026-03-04", { taken_back: { reason: "rain" } });
  const all = [
    round("f", "2026-03-09"),
    round("o", "2026-03-01"),
    round("n", "2026-03-04"),
    round("p", "2026-03-03"),
    back,
  ];
  const parts = sorted(all, "2026-03-04");
  assert.deepEqual(
    [parts.today, parts.coming, parts.past, parts.taken].map((l) => l.map((r) => r.id).join("")),
    ["n", "f", "po", "x"],
  );
  assert.equal(takenBack(back), "rain");
  assert.deepEqual(keysOf(back), []);
  assert.deepEqual(keysOf(round("x", "2026-03-04", { taken_back: null })), ["d/2026-03-04"]);
});

test("objections to a stop are shown: another round near, early, contested, out of service, another site", () => {
  const it = made("a", "instrument", { tag: "PI-1", due: "2026-06-01", status: "retired" }, "north");
  it.fields["due"]?.heads.push({ change: "d", value: "2026-03-09", author: "", device: "", wall: "", stamp: "r" });
  const person = { id: "p", name: "Anna", role: "technician", sites: ["south"] };
  const rounds = [
    round("other", "2026-03-11"),
    round("r", "2026-03-04"),
    round("b", "2026-03-04", { taken_back: { reason: "x" } }),
  ];
  const draft = { date: "2026-03-04", person: "p", title: "r", stops: stops.slice(0, 1) };
  const asked = roundAsked(
    draft,
    { id: "r", rounds, person },
    () => it,
    () => true,
  );
  const said = calculate("round", asked).stops.flatMap((s) => s.warnings.map(warned));
  assert.equal(said.length, 5);
  assert.match(said[0] ?? "", /other/);
  assert.match(said.join("; "), /not due before .*conflicting values: due; status: retired; .*no access/);
});

test("errors are shown at their fields; a change writes only what is different", () => {
  const good = { date: "2026-03-04", person: "p", title: "r", stops };
  const wrong = (draft: typeof good, hasMethod = true) =>
    wrongIn(
      calculate(
        "round",
        roundAsked(
          draft,
          { id: "", rounds: [], person: undefined },
          () => undefined,
          () => hasMethod,
        ),
      ).wrong,
      ["PI-1", "PI-2"],
    );
  assert.deepEqual(wrong(good), {});
  assert.deepEqual(Object.keys(wrong({ date: "", person: "", title: " ", stops: [] })).sort(), [
    "date",
    "person",
    "stops",
    "title",
  ]);
  assert.match(wrong(good, false).stops ?? "", /PI-1, PI-2/);
  assert.match(wrong({ ...good, title: "ä".repeat(101) }).title ?? "", /200/);
  const was = round("r", "2026-03-04");
  assert.deepEqual(changedIn(good, was), {});
  assert.deepEqual(changedIn({ ...good, date: "2026-03-05", stops: moved(stops, 0, 1) }, was), {
    date: "2026-03-05",
    stops: moved(plannedOf(was), 0, 1),
  });
  assert.deepEqual(Object.keys(changedIn(good, undefined)), ["date", "person", "title", "stops"]);
});

test("a title is suggested from the area that all share", () => {
  const at = (area: string) => made("i", "instrument", { area });
  assert.equal(offered([at("Boilers"), at("Boilers")]), "Boilers, 2 instruments");
  assert.equal(offered([at("Boilers"), at("Yard")]), "2 instruments");
});

test("rounds can be filtered by person: everybody with a round is listed by name, and so is a chosen person", () => {
  const rounds = [
    round("a", "2026-03-04", { person: "z" }),
    round("b", "2026-03-04", { person: "y" }),
    round("c", "2026-03-05", { person: "z" }),
    round("d", "2026-03-05", { person: "" }),
  ];
  const names = new Map([
    ["z", "Anna"],
    ["y", "Bert"],
    ["x", "Carl"],
  ]);
  assert.deepEqual(peopleOf(rounds, names, ""), [
    ["z", "Anna"],
    ["y", "Bert"],
  ]);
  assert.deepEqual(
    peopleOf([round("a", "2026-03-04", { person: "gone" })], new Map(), "", false),
    [["gone", words.shell.loading]],
    "before the names have come nobody is said to have no access",
  );
  assert.deepEqual(
    peopleOf(rounds, names, "x").map(([id]) => id),
    ["z", "y", "x"],
  );
  assert.deepEqual(
    peopleOf([round("a", "2026-03-04", { person: "gone" })], names, "").map(([id, name]) => [id, name !== ""]),
    [["gone", true]],
  );
});

test("a stop without a suitable standard gets a warning, with the nearest standard and the objections to it", () => {
  const range = { low: "0", high: "20", unit: "bar", mode: "gauge" };
  const one = (name: string, objections: Candidate["objections"]): Candidate => ({
    standard: made(name, "standard", { name, serial: `${name}-1` }),
    index: 0,
    original: range,
    range,
    worst: undefined,
    barred: false,
    barometer: false,
    objections,
  });
  const said = (o: { code: string }, unit: string) => `${o.code} in ${unit}`;
  assert.equal(unserved([one("Good", []), one("Late", [{ code: "no_date" }])], said), "");
  const why = unserved([one("Late", [{ code: "no_date" }, { code: "high" }]), one("Bad", [{ code: "low" }])], said);
  assert.match(why, /Late Late-1 .*20.*bar.*: no_date in bar, high in bar$/);
  assert.ok(!why.includes("Bad"));
  assert.ok(unserved([], said) !== "", "nothing on record serves nothing");
});

test("a standard of a site is offered to people who get that site's records", () => {
  const standards = [
    made("everywhere", "standard", {}),
    made("here", "standard", {}, "north"),
    made("there", "standard", {}, "south"),
  ];
  const seen = (sites: string[]) =>
    within(standards, { id: "p", name: "P", role: "technician", sites }).map((s) => s.id);
  assert.deepEqual(seen([]), ["everywhere", "here", "there"]);
  assert.deepEqual(seen(["north"]), ["everywhere", "here"]);
  assert.equal(within(standards, undefined).length, 3);
});

test("what to bring knows which standard is clean for oxygen", () => {
  const kit = (cleaned: string) =>
    made("s", "standard", {
      name: "Kit",
      status: "in service",
      due: "2027-03-04",
      calibrated: "2026-03-04",
      medium: "gas",
      cleaned_for_oxygen: cleaned,
      ranges: [{ low: "0", high: "10", unit: "bar", mode: "gauge", of_span_percent: "0.05", k: "2" }],
    });
  const bring = (cleaned: string) =>
    calculate("bring", {
      today: "2026-12-01",
      stops: [
        {
          id: "g",
          medium: "oxygen",
          method: { kind: "gauge", points: { count: 6 }, directions: "up-down", decision: { rule: "simple" } },
          instrument: {
            low: "0",
            high: "10",
            unit: "bar",
            mode: "gauge",
            resolution: "0.05",
            limit: { rule: "en837", class: "1" },
          },
        },
      ],
      standards: standardsAsked([kit(cleaned)]),
    });
  assert.deepEqual(bring("2026-03-04").unserved, []);
  assert.equal(bring("").unserved.length, 1);
});
