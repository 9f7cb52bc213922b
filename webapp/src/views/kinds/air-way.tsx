import { airWords as w } from "../../words/air";
import { showDecimal } from "../../words/words";
import { clock, type PressureUnit, pressure, type Profile } from "./air-data";

/** WayTable shows a planned move as a table of set points over time. */
export function WayTable({ way, unit }: { way: Profile; unit: PressureUnit }) {
  const shown = unit === "own" ? "hPa" : unit;
  const number = (x: number, digits: number) => showDecimal(x.toFixed(digits));
  return (
    <>
      <p class="quiet">{`${w.wayHint(clock(way.seconds))} ${w.wayUnit(shown)}`}</p>
      {way.route === "in-turn" ? <p>{w.wayTurn}</p> : null}
      {way.beyond.length > 0 ? <p class="caution">{w.beyond}</p> : null}
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by key */}
      <section class="wide-table air-wide" tabIndex={0} aria-label={w.wayHint(clock(way.seconds))}>
        <table>
          <thead>
            <tr>
              <th scope="col">{w.columns.time}</th>
              <th scope="col" class="number">
                {w.columns.altitude}
              </th>
              <th scope="col" class="number">
                {w.columns.airspeed}
              </th>
              <th scope="col" class="number">
                {w.columns.staticLine}
              </th>
              <th scope="col" class="number">
                {w.columns.pitotLine}
              </th>
              <th scope="col" class="number">
                {w.columns.rate}
              </th>
            </tr>
          </thead>
          <tbody>
            {way.points.map((p) => (
              <tr key={p.t}>
                <td>{clock(p.t)}</td>
                <td class="number">{number(p.feet, 0)}</td>
                <td class="number">{number(p.knots, 0)}</td>
                <td class="number">{showDecimal(pressure(p.static, shown).split("\u00a0")[0] ?? "")}</td>
                <td class="number">{showDecimal(pressure(p.total, shown).split("\u00a0")[0] ?? "")}</td>
                <td class="number">{number(p.staticRate, 0)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </>
  );
}

const width = 340;
const panel = 96;

/** WayDrawing draws altitude and airspeed over time, one above the other, each with its limit. */
export function WayDrawing({
  way,
  highest,
  knots,
}: {
  way: Profile;
  highest: number | undefined;
  knots: number | undefined;
}) {
  const seconds = way.seconds || 1;
  const x = (t: number) => 8 + (t / seconds) * (width - 16);
  const draw = (name: string, values: number[], limit: number | undefined, unit: string, at: number, trace: string) => {
    const most = Math.max(...values, 1);
    const least = Math.min(...values, 0);
    const near = limit !== undefined && limit < most * 2.5;
    const top = near ? Math.max(limit, most) : most * 1.15;
    const y = (v: number) => at + panel - 14 - ((v - least) / (top - least || 1)) * (panel - 34);
    return (
      <g key={name}>
        <text class="axis" x="8" y={at + 10}>
          {`${name}, ${unit}${limit !== undefined && !near ? ` (${w.limit(showDecimal(limit))} \u2191)` : ""}`}
        </text>
        <line class="zero" x1="8" x2={width - 8} y1={y(least)} y2={y(least)} />
        {near ? <line class="limit" x1="8" x2={width - 8} y1={y(limit)} y2={y(limit)} /> : null}
        {near ? (
          <text class="axis" x={width - 8} y={y(limit) - 3} text-anchor="end">
            {w.limit(showDecimal(limit))}
          </text>
        ) : null}
        <polyline
          class={trace}
          points={way.points.map((p, i) => `${x(p.t).toFixed(1)},${y(values[i] ?? 0).toFixed(1)}`).join(" ")}
        />
        <text class="axis" x="8" y={at + panel - 2}>
          {showDecimal(Math.round(values[0] ?? 0))}
        </text>
        <text class="axis" x={width - 8} y={at + panel - 2} text-anchor="end">
          {showDecimal(Math.round(values.at(-1) ?? 0))}
        </text>
      </g>
    );
  };
  const last = way.points.at(-1);
  const said = w.drawn(
    clock(way.seconds),
    [Math.round(way.points[0]?.feet ?? 0), Math.round(last?.feet ?? 0)],
    [Math.round(way.points[0]?.knots ?? 0), Math.round(last?.knots ?? 0)],
  );
  return (
    <svg class="chart" viewBox={`0 0 ${width} ${2 * panel + 20}`} role="img" aria-label={said}>
      {draw(
        w.altitude,
        way.points.map((p) => p.feet),
        highest,
        "ft",
        0,
        "trace up",
      )}
      {draw(
        w.airspeed,
        way.points.map((p) => p.knots),
        knots,
        "kt",
        panel + 4,
        "trace speed",
      )}
      <text class="axis" x={width - 8} y={2 * panel + 16} text-anchor="end">
        {clock(way.seconds)}
      </text>
    </svg>
  );
}
