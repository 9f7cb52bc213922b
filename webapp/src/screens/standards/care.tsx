import { useEffect, useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { deskWords } from "../../words/desk";
import { readDecimal, showDate, showDecimal } from "../../words/words";
import { showRange } from "../../records/facts";
import { Complaint, Facts, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { localDay } from "../../records/stops";
import type { RecordState } from "../../wire/records";
import { CheckChart, type Chart } from "./check-chart";
import { Badge, type StandardRow } from "./list";
import type { Doc } from "./standards-data";

const w = deskWords.care;

type Compared = {
  id: string;
  number: string;
  calibrated: string;
  of: number;
  in_force: boolean;
  before: string;
  worst_en: string;
  agrees: boolean;
  drift: string;
  per_year: string;
  unit: string;
};
type Reply = {
  row: StandardRow;
  certificates: Compared[];
  charts: Chart[];
  kit: StandardRow[];
  people: { id: string; name: string }[];
};

/** Care shows where a standard is, how its certificates compare, and its intermediate checks. */
export function Care({ standard, ranges }: { standard: RecordState; ranges: Doc[] }) {
  const path = `/api/office/standards/${standard.id}`;
  const asked = useAsk<Reply>(path);
  const heads = Object.values(standard.fields).flatMap((f) => f.heads.map((h) => h.change)).length;
  useEffect(() => asked.again(), [heads]);
  const [moving, move] = useState(false);
  const [entering, enter] = useState(false);
  const d = useDoing();
  const r = asked.reply;
  if (!r) return <Waiting asked={asked} />;
  const done = () => {
    move(false);
    enter(false);
    asked.again();
  };
  const takeBack = (id: string) =>
    d.run(async () => {
      await ask(`${path}/checks/${id}`, { method: "DELETE" });
      asked.again();
    });
  return (
    <>
      <p>
        <Badge state={r.row.state} />
      </p>
      <h2>{w.where}</h2>
      <Facts
        facts={[
          [w.place, r.row.place],
          [w.person, r.row.person],
          [w.since, showDate(r.row.since)],
          [w.kit, r.row.kit],
          [
            w.others,
            r.kit.length === 0
              ? ""
              : r.kit.map((k, i) => (
                  <>
                    {i === 0 ? "" : ", "}
                    <a href={`/office/standard/${k.id}`}>{k.name}</a>
                  </>
                )),
          ],
          [deskWords.standards.used, r.row.used === "" ? "" : `${showDate(r.row.used)}, ${r.row.used_by}`],
        ]}
      />
      {moving ? (
        <Where path={path} row={r.row} people={r.people} onDone={done} />
      ) : (
        <Button onClick={() => move(true)}>{w.change}</Button>
      )}
      <h2>{w.compared}</h2>
      <p class="small quiet">{w.comparedHint}</p>
      <ComparedTable list={r.certificates} ranges={ranges} />
      <h2>{w.checks}</h2>
      <p class="small quiet">{w.checksHint}</p>
      {r.charts.length === 0 ? <p>{w.none}</p> : null}
      <Complaint error={d.error} />
      {r.charts.map((c) => (
        <CheckChart key={`${c.of} ${c.applied}`} chart={c} busy={d.busy} onTakeBack={takeBack} />
      ))}
      {entering ? (
        <Enter path={path} ranges={ranges} last={r.charts[0]} onDone={done} />
      ) : (
        <Button onClick={() => enter(true)}>{w.enter}</Button>
      )}
    </>
  );
}

function ComparedTable({ list, ranges }: { list: Compared[]; ranges: Doc[] }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
    <section class="wide-table" tabIndex={0} aria-label={w.compared}>
      <table class="visits-table">
        <thead>
          <tr>
            {[w.number, w.forRange, w.calibrated, w.before].map((h) => (
              <th key={h} scope="col">
                {h}
              </th>
            ))}
            {[w.drift, w.perYear, w.en].map((h) => (
              <th key={h} scope="col" class="number">
                {h}
              </th>
            ))}
            <td />
          </tr>
        </thead>
        <tbody>
          {list.map((c) => (
            <tr key={c.id}>
              <th scope="row">
                {c.number} {c.in_force ? <span class="badge valid">{w.force}</span> : null}
              </th>
              <td class="small">{ranges[c.of] ? showRange(ranges[c.of] as Doc) : "\u2013"}</td>
              <td class="number">{showDate(c.calibrated)}</td>
              <td>{c.before || w.one}</td>
              <td class="number">{c.before === "" ? "" : `${showDecimal(c.drift)} ${c.unit}`}</td>
              <td class="number">{c.per_year === "" ? "" : `${showDecimal(c.per_year)} ${c.unit}`}</td>
              <td class="number">{c.before === "" ? "" : showDecimal(c.worst_en)}</td>
              <td>
                {c.before === "" ? null : (
                  <span class={`badge ${c.agrees ? "valid" : "check_out"}`}>{c.agrees ? w.agrees : w.differs}</span>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Where({
  path,
  row,
  people,
  onDone,
}: {
  path: string;
  row: StandardRow;
  people: { id: string; name: string }[];
  onDone: () => void;
}) {
  const [place, setPlace] = useState(row.place);
  const [person, setPerson] = useState(people.find((p) => p.name === row.person)?.id ?? "");
  const [since, setSince] = useState(localDay(new Date()));
  const [kit, setKit] = useState(row.kit);
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      await send(`${path}/where`, { place, person, since, kit }, "PUT");
      onDone();
    });
  return (
    <section class="office-form" aria-label={w.change}>
      <Field label={w.place} value={place} onInput={setPlace} />
      <Choice
        label={w.person}
        value={person}
        options={[["", w.nobody], ...people.map((p) => [p.id, p.name] as const)]}
        onChange={setPerson}
      />
      <Field label={w.since} type="date" value={since} onInput={setSince} />
      <Field label={w.kit} value={kit} onInput={setKit} hint={w.kitHint} />
      <Complaint error={d.error} />
      <div class="buttons">
        <Button kind="main" disabled={d.busy} onClick={go}>
          {w.keep}
        </Button>
        <Button onClick={onDone}>{w.cancel}</Button>
      </div>
    </section>
  );
}

function Enter({
  path,
  ranges,
  last,
  onDone,
}: {
  path: string;
  ranges: Doc[];
  last: Chart | undefined;
  onDone: () => void;
}) {
  const [of, setOf] = useState(String(last?.of ?? 0));
  const [date, setDate] = useState(localDay(new Date()));
  const [applied, setApplied] = useState(last?.applied ?? "");
  const [shown, setShown] = useState("");
  const [expanded, setExpanded] = useState(last?.checks.at(-1)?.expanded ?? "");
  const [beside, setBeside] = useState(last?.checks.at(-1)?.with ?? "");
  const [note, setNote] = useState("");
  const d = useDoing();
  const unit = String(ranges[Number(of)]?.["unit"] ?? "");
  const plain = (text: string) => readDecimal(text) ?? text.trim();
  const go = () =>
    d.run(async () => {
      await send(`${path}/checks`, {
        of: Number(of),
        date,
        applied: plain(applied),
        shown: plain(shown),
        expanded: plain(expanded),
        with: beside,
        note,
      });
      onDone();
    });
  const decimal = { inputMode: "decimal", unit } as const;
  return (
    <section class="office-form" aria-label={w.enter}>
      <h3>{w.enter}</h3>
      {ranges.length > 1 ? (
        <Choice
          label={w.forRange}
          value={of}
          options={ranges.map((r, i) => [String(i), showRange(r)] as const)}
          onChange={setOf}
        />
      ) : null}
      <Field label={w.date} type="date" value={date} onInput={setDate} />
      <div class="columns">
        <Field label={w.applied} value={applied} onInput={setApplied} {...decimal} />
        <Field label={w.shown} value={shown} onInput={setShown} {...decimal} />
        <Field label={w.expanded} value={expanded} onInput={setExpanded} hint={w.expandedHint} {...decimal} />
      </div>
      <Field label={w.with} value={beside} onInput={setBeside} />
      <Field label={w.note} value={note} onInput={setNote} />
      <Complaint error={d.error} />
      <div class="buttons">
        <Button kind="main" disabled={d.busy} onClick={go}>
          {w.keep}
        </Button>
        <Button onClick={onDone}>{w.cancel}</Button>
      </div>
    </section>
  );
}
