import { useEffect, useState } from "preact/hooks";
import { BandChart } from "../../parts/band-chart";
import { Button } from "../../parts/button";
import { isVerdict, Mark } from "../../parts/mark";
import { readField } from "../../wire/read";
import type { RecordState } from "../../wire/records";
import { airWords as w } from "../../words/air";
import { showDecimal } from "../../words/words";
import { type Entry, effective, type Step } from "../../records/run";
import { readingsOf } from "../../records/sheet";
import { AbortCard } from "./air-card";
import {
  type AirPoint,
  airPoints,
  moveOf,
  type PressureUnit,
  pressure,
  pressureUnits,
  type Way,
  wayFor,
  wayOf,
} from "./air-data";
import { WayDrawing, WayTable } from "./air-way";
import { ErrorBand } from "../error-band";
import type { Finding, Kind } from "./kind";

const feet = (x: number) => `${showDecimal(Math.round(x))}\u00a0ft`;
const knots = (x: number) => `${showDecimal(Math.round(x * 10) / 10)}\u00a0kt`;

function lastRead(entries: Entry[], units: string[]): string {
  const e = entries.findLast((one) => one.of === "indicated" && units.includes(one.unit));
  return e ? `${showDecimal(e.value)}\u00a0${e.unit}` : w.nothing;
}

/**
 * Board shows two columns, altitude and airspeed: the wanted condition, what to set for it, what
 * was read.
 */
function Board({ where, entries, unit, brief }: { where: Way; entries: Entry[]; unit: PressureUnit; brief: boolean }) {
  const aim = where.heading ?? where.reached;
  const shown = unit === "own" ? "hPa" : unit;
  const label = where.heading ? w.target : w.standing;
  return (
    <table class="air-board" aria-label={w.board}>
      <thead class={brief ? "unseen" : ""}>
        <tr>
          <td />
          <th scope="col">{w.altitude}</th>
          <th scope="col">{w.airspeed}</th>
        </tr>
      </thead>
      <tbody>
        <tr class="aim">
          <th scope="row">{label}</th>
          <td>{feet(aim.altitude_ft)}</td>
          <td>{knots(aim.cas_kt)}</td>
        </tr>
        <tr hidden={brief}>
          <th scope="row">{w.set}</th>
          <td>
            {unit === "own" ? feet(aim.altitude_ft) : `${w.staticLine} ${showDecimal(pressure(aim.static_pa, shown))}`}
          </td>
          <td>
            {unit === "own"
              ? knots(aim.cas_kt)
              : `${w.pitotLine} ${showDecimal(pressure(aim.static_pa + aim.impact_pa, shown))}`}
            <br />
            <span class="quiet small">
              {aim.impact_pa > 0 ? w.above(showDecimal(pressure(aim.impact_pa, shown))) : w.tied}
            </span>
          </td>
        </tr>
        <tr hidden={brief}>
          <th scope="row">{w.read}</th>
          <td>{lastRead(entries, ["ft", "m", "ft/min"])}</td>
          <td>{lastRead(entries, ["kt", "km/h", "mph"])}</td>
        </tr>
      </tbody>
    </table>
  );
}

type Answer = { way: Way | undefined; failed: boolean };

/**
 * useWay asks where a run is. It gives nothing until the answer is about the present state: the
 * figures of another condition could damage an instrument.
 */
function useWay(visit: RecordState, run: RecordState, at: number): Answer {
  const [said, set] = useState<(Answer & { key: string }) | undefined>();
  const doc = wayFor(visit, run, at);
  const key = JSON.stringify(doc);
  useEffect(() => {
    let here = true;
    wayOf(doc).then(
      (way) => here && set({ key, way, failed: false }),
      (e: unknown) => {
        console.error(e);
        if (here) set({ key, way: undefined, failed: true });
      },
    );
    return () => {
      here = false;
    };
  }, [key]);
  return said?.key === key ? said : { way: undefined, failed: false };
}

/**
 * Aside is on every screen of a run: the board, the way there, and the abort card one tap away.
 */
function Aside({
  visit,
  run,
  at,
  brief,
}: {
  visit: RecordState;
  run: RecordState;
  steps: Step[];
  at: number;
  brief: boolean;
}) {
  const [unit, setUnit] = useState<PressureUnit>("hPa");
  const [aborting, abort] = useState(false);
  const { way: where, failed } = useWay(visit, run, at);
  const field = where?.field_pa;
  const way = where && moveOf(where.move);
  const shown = unit === "own" ? "hPa" : unit;
  return (
    <section class={brief ? "air brief" : "air"} aria-label={w.board}>
      {where ? (
        <Board where={where} entries={effective(run)} unit={unit} brief={brief} />
      ) : (
        <p role="status">{failed ? w.noFigures : w.working}</p>
      )}
      <Button size="tall" onClick={() => abort(true)}>
        {w.abort}
      </Button>
      <div class={aborting ? "cover" : ""}>
        {aborting ? (
          <Button size="tall" wide onClick={() => abort(false)}>
            {w.abortClose}
          </Button>
        ) : null}
        <AbortCard way={where} failed={failed} unit={unit} open={aborting} />
      </div>
      {brief ? null : (
        <Button
          kind="quiet"
          onClick={() => setUnit(pressureUnits[(pressureUnits.indexOf(unit) + 1) % pressureUnits.length] ?? "hPa")}
        >
          {w.unitIs(unit === "own" ? w.own : unit)}
        </Button>
      )}
      <p class="quiet small" hidden={brief}>
        {where === undefined
          ? null
          : field === undefined
            ? w.fieldPlanned
            : w.field(showDecimal(pressure(field, shown)), feet(where.home.altitude_ft))}
      </p>
      {where?.heading && way !== undefined && !brief ? (
        <details class="opened" open={where.going_home === true}>
          <summary>{where.going_home ? w.wayHome : w.way}</summary>
          {typeof way === "string" ? (
            <p>{w.noWay(way)}</p>
          ) : (
            <>
              <WayDrawing way={way} highest={where.highest_ft} knots={where.max_cas_kt} />
              <WayTable way={way} unit={unit} />
            </>
          )}
        </details>
      ) : null}
    </section>
  );
}

/**
 * Live shows the error of the value being typed at steps that are no point of the scale:
 * hysteresis, friction, leaks.
 */
function Live({ visit, step, finding }: { visit: RecordState; run: RecordState; step: Step; finding: Finding }) {
  const p = airPoints(finding, readField("visit", visit, "method").definition.kind).find((one) => one.step === step.id);
  if (!p || p.limit === undefined || readingsOf(finding).some((r) => r.step === step.id)) return null;
  return (
    <div class="preview">
      <p>
        <span>{w.error(`${showDecimal(p.error)}\u00a0${p.unit}`)}</span>
        {isVerdict(p.verdict) ? <Mark verdict={p.verdict} /> : null}
      </p>
      <ErrorBand error={p.error} low={-p.limit} high={p.limit} unit={p.unit} inside={p.verdict === "pass"} />
    </div>
  );
}

function Chart({ points }: { points: AirPoint[] }) {
  const xs = points.map((p) => p.x);
  const edges = new Map(
    points.flatMap((p) =>
      p.limit === undefined ? [] : [[p.x, { applied: p.x, low: -p.limit, high: p.limit }] as const],
    ),
  );
  return (
    <BandChart
      points={points.map((p) => ({ applied: p.x, error: p.error, direction: p.direction === "down" ? "down" : "up" }))}
      limits={[...edges.values()]}
      low={Math.min(...xs)}
      high={Math.max(...xs)}
      unit={points[0]?.unit ?? ""}
      errorUnit={points[0]?.unit ?? ""}
    />
  );
}

/** Result draws, test by test, the error against altitude or airspeed within its tolerance. */
function Result({ visit, run, finding }: { visit: RecordState; run: RecordState; finding: Finding }) {
  const points = airPoints(finding, readField("visit", visit, "method").definition.kind).filter(
    (p) => p.limit !== undefined,
  );
  const tests = Object.entries(w.tests).filter(([test]) => points.filter((p) => p.test === test).length > 1);
  const months = readField("run", run, "finding").due_months;
  const field = useWay(visit, run, 0).way?.field_pa;
  const measured = field === undefined ? w.fieldPlanned : showDecimal(pressure(field, "hPa"));
  return (
    <>
      <p class="quiet small">{`${readField("visit", visit, "item").tag}: ${measured}`}</p>
      {tests.map(([test, title]) => (
        <figure key={test}>
          <figcaption>{title}</figcaption>
          <Chart points={points.filter((p) => p.test === test)} />
        </figure>
      ))}
      {months === "" ? null : <p>{w.due(months)}</p>}
    </>
  );
}

export const kind: Kind = { Aside, Live, Result };
