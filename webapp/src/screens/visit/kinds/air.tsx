import { useEffect, useState } from "preact/hooks";
import { call } from "../../../calc/calc";
import { BandChart } from "../../../parts/band-chart";
import { Button } from "../../../parts/button";
import { LimitBand } from "../../../parts/limit-band";
import { isVerdict, Mark } from "../../../parts/mark";
import { asText, object, type RecordState } from "../../../wire/records";
import { airWords as w } from "../../../words/air";
import { showDecimal } from "../../../words/words";
import { type Entry, effective, type Step } from "../run";
import { definitionOf, readingsOf } from "../sheet";
import { AbortCard } from "./air-card";
import {
  type AirPoint,
  airPoints,
  type Bounds,
  boundsOf,
  type Condition,
  fieldOf,
  moveDoc,
  type PressureUnit,
  pressure,
  pressureUnits,
  type Profile,
  profileOf,
  type Where,
  whereIs,
} from "./air-data";
import { WayDrawing, WayTable } from "./air-way";
import type { Finding, Kind } from "./kind";

const feet = (x: number) => `${showDecimal(Math.round(x))}\u00a0ft`;
const knots = (x: number) => `${showDecimal(Math.round(x * 10) / 10)}\u00a0kt`;

function lastRead(entries: Entry[], units: string[]): string {
  const e = entries.findLast((one) => one.of === "indicated" && units.includes(one.unit));
  return e ? `${showDecimal(e.value)}\u00a0${e.unit}` : w.nothing;
}

/** Board is the two columns: what shall stand, what to set for it, what was read. */
function Board({ where, entries, unit }: { where: Where; entries: Entry[]; unit: PressureUnit }) {
  const aim = where.heading ?? where.reached;
  const shown = unit === "own" ? "hPa" : unit;
  const label = where.heading ? w.target : w.standing;
  return (
    <table class="air-board" aria-label={w.board}>
      <thead>
        <tr>
          <td />
          <th scope="col">{w.altitude}</th>
          <th scope="col">{w.airspeed}</th>
        </tr>
      </thead>
      <tbody>
        <tr class="aim">
          <th scope="row">{label}</th>
          <td>{feet(aim.feet)}</td>
          <td>{knots(aim.knots)}</td>
        </tr>
        <tr>
          <th scope="row">{w.set}</th>
          <td>{unit === "own" ? feet(aim.feet) : `${w.staticLine} ${showDecimal(pressure(aim.static, shown))}`}</td>
          <td>
            {unit === "own" ? knots(aim.knots) : `${w.pitotLine} ${showDecimal(pressure(aim.static + aim.impact, shown))}`}
            <br />
            <span class="quiet small">{aim.impact > 0 ? w.above(showDecimal(pressure(aim.impact, shown))) : w.tied}</span>
          </td>
        </tr>
        <tr>
          <th scope="row">{w.read}</th>
          <td>{lastRead(entries, ["ft", "m", "ft/min"])}</td>
          <td>{lastRead(entries, ["kt", "km/h", "mph"])}</td>
        </tr>
      </tbody>
    </table>
  );
}

/** useWay plans the move to the condition that a screen is on the way to. */
function useWay(where: Where | undefined, b: Bounds): Profile | string | undefined {
  const [way, set] = useState<Profile | string | undefined>();
  const to = where?.heading;
  const key = JSON.stringify([where, b.climb, b.knotRate]);
  useEffect(() => {
    let here = true;
    set(undefined);
    if (!where || !to) return;
    const doc = where.way === "home" ? moveDoc(where.reached, { field: where.home.static, feet: where.home.feet }, b) : moveDoc(where.reached, to, b);
    call("profile", doc).then(
      (p) => here && set(profileOf(p)),
      (e: Error) => here && set(e.message),
    );
    return () => {
      here = false;
    };
  }, [key]);
  return way;
}

/** measured gives the field's condition with the pressure altitude of what was measured. */
function useMeasured(where: Where | undefined, pa: number | undefined): Where | undefined {
  const [altitude, set] = useState<{ pa: number; feet: number } | undefined>();
  useEffect(() => {
    let here = true;
    if (pa === undefined) return;
    call("airdata", { static_pa: pa }).then(
      (o) => here && o !== null && typeof o === "object" && !Array.isArray(o) && set({ pa, feet: Number(o["altitude_ft"]) }),
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
    };
  }, [pa]);
  if (!where || !altitude || altitude.pa !== pa) return where;
  const real = (c: Condition): Condition => (Math.abs(c.feet - where.homeFeet) < 1e-6 ? { ...c, feet: altitude.feet } : c);
  return { ...where, home: real(where.home), reached: real(where.reached), heading: where.heading && real(where.heading) };
}

/** Aside stands on every screen of a run: the board, the way there, and the abort card one tap away. */
function Aside({ visit, run, at }: { visit: RecordState; run: RecordState; steps: Step[]; at: number }) {
  const [unit, setUnit] = useState<PressureUnit>("hPa");
  const [aborting, abort] = useState(false);
  const field = fieldOf(run);
  const where = useMeasured(whereIs(run, at), field);
  const bounds = boundsOf(visit, run, at);
  const way = useWay(where, bounds);
  if (!where) return null;
  const shown = unit === "own" ? "hPa" : unit;
  return (
    <section class="air" aria-label={w.board}>
      <Button size="tall" wide pressed={aborting} onClick={() => abort(!aborting)}>
        {aborting ? w.abortClose : w.abort}
      </Button>
      <AbortCard from={where.reached} heading={where.heading} home={where.home} bounds={bounds} unit={unit} open={aborting} />
      <Board where={where} entries={effective(run)} unit={unit} />
      <Button kind="quiet" onClick={() => setUnit(pressureUnits[(pressureUnits.indexOf(unit) + 1) % pressureUnits.length] ?? "hPa")}>
        {w.unitIs(unit === "own" ? w.own : unit)}
      </Button>
      <p class="quiet small">{field === undefined ? w.fieldPlanned : w.field(showDecimal(pressure(field, shown)), feet(where.home.feet))}</p>
      {where.heading && way !== undefined ? (
        <details class="opened" open={where.way === "home"}>
          <summary>{where.way === "home" ? w.wayHome : w.way}</summary>
          {typeof way === "string" ? (
            <p>{w.noWay(way)}</p>
          ) : (
            <>
              <WayDrawing way={way} bounds={bounds} />
              <WayTable way={way} unit={unit} />
            </>
          )}
        </details>
      ) : null}
    </section>
  );
}

/** Live shows the error of what is being typed where it is no point of the scale: hysteresis, friction, leaks. */
function Live({ visit, step, finding }: { visit: RecordState; run: RecordState; step: Step; finding: Finding }) {
  const p = airPoints(finding, asText(definitionOf(visit)["kind"])).find((one) => one.step === step.id);
  if (!p || p.limit === undefined || readingsOf(finding).some((r) => r.step === step.id)) return null;
  return (
    <div class="preview">
      <p>
        <span>{w.error(`${showDecimal(p.error)}\u00a0${p.unit}`)}</span>
        {isVerdict(p.verdict) ? <Mark verdict={p.verdict} /> : null}
      </p>
      <LimitBand error={p.error} low={-p.limit} high={p.limit} unit={p.unit} inside={p.verdict === "pass"} />
    </div>
  );
}

function Chart({ points }: { points: AirPoint[] }) {
  const xs = points.map((p) => p.x);
  const edges = new Map(points.flatMap((p) => (p.limit === undefined ? [] : [[p.x, { applied: p.x, low: -p.limit, high: p.limit }] as const])));
  return (
    <BandChart
      points={points.map((p) => ({ applied: p.x, error: p.error, direction: p.direction === "down" ? "down" : "up" }))}
      limits={[...edges.values()]}
      low={Math.min(...xs)}
      high={Math.max(...xs)}
      unit={points[0]?.unit ?? ""}
    />
  );
}

/** Result draws, test by test, the error against altitude or airspeed inside its tolerance. */
function Result({ visit, run, finding }: { visit: RecordState; run: RecordState; finding: Finding }) {
  const points = airPoints(finding, asText(definitionOf(visit)["kind"])).filter((p) => p.limit !== undefined);
  const tests = Object.entries(w.tests).filter(([test]) => points.filter((p) => p.test === test).length > 1);
  const months = asText(finding["due_months"]);
  return (
    <>
      <p class="quiet small">{`${asText(object(visit, "item")["tag"])}: ${fieldLine(run)}`}</p>
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

function fieldLine(run: RecordState): string {
  const pa = fieldOf(run);
  return pa === undefined ? w.fieldPlanned : showDecimal(pressure(pa, "hPa"));
}

export const kind: Kind = { Aside, Live, Result };
