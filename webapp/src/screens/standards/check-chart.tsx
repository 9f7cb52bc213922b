import { Button } from "../../parts/button";
import { deskWords } from "../../words/desk";
import { showDate, showDecimal } from "../../words/words";
import { asNumber, type Json } from "../../wire/records";

const w = deskWords.care;

/** The checks of a standard at one pressure, as package server/desk judged them. */
export type Chart = {
  of: number;
  range: { [name: string]: Json };
  applied: string;
  state: string;
  base: number;
  least: number;
  centre: string;
  low: string;
  high: string;
  checks: {
    id: string;
    date: string;
    shown: string;
    error: string;
    expected: string;
    deviation: string;
    own: string;
    expanded: string;
    en: string;
    agrees: boolean;
    beyond: boolean;
    run: boolean;
    with: string;
    note: string;
  }[];
};

const wide = 640;
const tall = 180;
const side = 12;

/** CheckChart draws a control chart and lists its checks, the latest first. */
export function CheckChart({
  chart: c,
  busy,
  onTakeBack,
}: {
  chart: Chart;
  busy: boolean;
  onTakeBack: (id: string) => void;
}) {
  const unit = String(c.range["unit"] ?? "");
  return (
    <section class="check-chart" aria-label={w.at(showDecimal(c.applied), unit)}>
      <h3>
        {w.at(showDecimal(c.applied), unit)}{" "}
        <span class={`badge ${c.state === "out" ? "check_out" : "valid"}`}>{w.states[c.state] ?? c.state}</span>
      </h3>
      <Drawn chart={c} unit={unit} />
      <p class="small">
        {c.base > 0 ? w.limits(showDecimal(c.low), showDecimal(c.high), c.base, unit) : w.few(c.least)}
      </p>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard */}
      <section class="wide-table" tabIndex={0} aria-label={`${w.checks}, ${w.at(showDecimal(c.applied), unit)}`}>
        <table class="visits-table">
          <thead>
            <tr>
              <th scope="col">{w.date}</th>
              {[w.shown, w.error, w.expected, w.deviation, "En"].map((h) => (
                <th key={h} scope="col" class="number">
                  {h}
                </th>
              ))}
              <td />
              <th scope="col">{w.with}</th>
              <td />
            </tr>
          </thead>
          <tbody>
            {[...c.checks].reverse().map((x) => (
              <tr key={x.id}>
                <th scope="row">{showDate(x.date)}</th>
                {[x.shown, x.error, x.expected, x.deviation, x.en].map((v, i) => (
                  <td key={i} class="number">
                    {showDecimal(v)}
                  </td>
                ))}
                <td class="small">
                  {x.en === "" || x.agrees ? "" : <strong>{w.differs}</strong>}{" "}
                  {x.beyond ? <strong>{w.beyond}</strong> : ""} {x.run ? <strong>{w.run}</strong> : ""}
                </td>
                <td class="small">{[x.with, x.note].filter(Boolean).join(": ")}</td>
                <td>
                  <Button
                    kind="quiet"
                    disabled={busy}
                    label={w.takeBackOf(showDate(x.date))}
                    onClick={() => onTakeBack(x.id)}
                  >
                    {w.takeBack}
                  </Button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </section>
  );
}

function Drawn({ chart: c, unit }: { chart: Chart; unit: string }) {
  const values = c.checks.flatMap((x) => (x.deviation === "" ? [] : [{ ...x, at: asNumber(x.deviation) ?? 0 }]));
  if (values.length < 2) return null;
  const lines = [c.low, c.centre, c.high].flatMap((t) => (t === "" ? [] : [asNumber(t) ?? 0]));
  const all = [...values.map((v) => v.at), ...lines, 0];
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const room = (most - least || 1) * 0.1;
  const y = (v: number) => tall - ((v - least + room) / (most - least + 2 * room)) * tall;
  const x = (i: number) => side + (i / (values.length - 1)) * (wide - 2 * side);
  return (
    <figure>
      <svg viewBox={`0 0 ${wide} ${tall}`} role="img" aria-label={w.chart(unit)}>
        <path class="axis" d={`M0 ${y(0)}H${wide}`} />
        {lines.map((v, i) => (
          <path key={i} class={i === 1 ? "centre" : "limit"} d={`M0 ${y(v)}H${wide}`} />
        ))}
        <path class="line" d={`M${values.map((v, i) => `${x(i)} ${y(v.at)}`).join("L")}`} />
        {values.map((v, i) =>
          v.beyond || !v.agrees || v.run ? (
            <rect key={v.id} class="point" x={x(i) - 5} y={y(v.at) - 5} width="10" height="10" />
          ) : (
            <circle key={v.id} class="point" cx={x(i)} cy={y(v.at)} r="4" />
          ),
        )}
      </svg>
      <figcaption class="small quiet">{w.chart(unit)}</figcaption>
    </figure>
  );
}
