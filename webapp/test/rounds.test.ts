import assert from "node:assert/strict";
import { test } from "node:test";
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

test("stops are moved, the ends hold; an instrument is added once, at the end", () => {
  assert.equal(ids(moved(stops, 0, 1)), "bac");
  assert.equal(ids(moved(stops, 2, -1)), "acb");
  assert.equal(ids(moved(stops, 0, -1)), "abc");
  assert.equal(ids(moved(stops, 2, 1)), "abc");
  assert.equal(ids(stops), "abc", "the list that was given stays");
  assert.equal(ids(added(stops, ["d", "b", "d"])), "abcd");
});

test("a stop is done when its visit is signed, and not any more when it came back", () => {
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

test("rounds are parted by the day; one that was taken back is on no day, and on its day again when it is planned again", () => {
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

test("what speaks against a stop is said: another round near, early, contested, out of service, another site", () => {
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
  assert.match(said.join("; "), /not due before .*different values: due; status: retired; .*not given/);
});

test("what is wrong stands at its field; a change writes only what is different", () => {
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

test("a title is offered from the area that all share", () => {
  const at = (area: string) => made("i", "instrument", { area });
  assert.equal(offered([at("Boilers"), at("Boilers")]), "Boilers, 2 instruments");
  assert.equal(offered([at("Boilers"), at("Yard")]), "2 instruments");
});

test("rounds can be looked at for one person: everybody who has one is there by name, and whoever was chosen", () => {
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

test("a stop is warned of where no standard serves, with the nearest and what speaks against it", () => {
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

test("a standard of a site serves whoever is given its records", () => {
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
