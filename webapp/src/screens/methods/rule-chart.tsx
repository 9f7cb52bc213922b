import { useEffect, useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { Choice } from "../../parts/field";
import { isVerdict, Mark, MarkShape } from "../../parts/mark";
import { methodsWords as w } from "../../words/methods";
import { showDecimal, words } from "../../words/words";
import { showShare } from "../../records/budget";
import type { ConformityOutput } from "../../wire/calculations.gen";
import { askOf, type MethodForm } from "./methods-data";

const width = 340;
const height = 190;
const left = 30;
const right = 332;
const top = 34;
const bottom = 150;
const most = 1.6;
const ratios = ["1.5", "2", "3", "4", "10"] as const;

type Drawn = Required<Pick<ConformityOutput, "stretches" | "course" | "guard" | "risk_of_wrong_acceptance">>;

/**
 * RuleChart draws a decision rule near the limit: the ranges of each verdict, and the probability
 * of being within the limit, as the calculation conformity gives them.
 */
export function RuleChart({ form }: { form: MethodForm }) {
  const [ratio, setRatio] = useState<(typeof ratios)[number]>("4");
  const [drawn, setDrawn] = useState<Drawn | undefined>();
  const [error, setError] = useState("");
  const key = JSON.stringify([form.rule, form.guard_factor, form.min_probability, ratio]);
  useEffect(() => {
    let here = true;
    const t = setTimeout(() => {
      call("conformity", askOf(form, Number(ratio), most)).then(
        ({ stretches = [], course = [], ...said }) => {
          if (!here) return;
          setDrawn({ ...said, stretches, course });
          setError("");
        },
        (e: unknown) => here && setError(e instanceof CalcError ? w.refused(e.field, e.message) : words.shell.broken),
      );
    }, 150);
    return () => {
      here = false;
      clearTimeout(t);
    };
  }, [key]);
  return (
    <>
      <Choice
        label={w.ratio}
        value={ratio}
        onChange={setRatio}
        options={ratios.map((r) => [r, w.ratios(showDecimal(r))] as const)}
      />
      {error === "" ? null : <p role="alert">{error}</p>}
      {drawn && error === "" ? <Chart drawn={drawn} /> : null}
    </>
  );
}

function Chart({ drawn }: { drawn: Drawn }) {
  const zones = drawn.stretches;
  const x = (share: number) => left + (share / most) * (right - left);
  const y = (p: number) => bottom - p * (bottom - top);
  const word = (v: string) => (isVerdict(v) ? words.verdict[v] : v);
  const share = (s: number) => showDecimal(Number(s.toFixed(2)));
  const spoken = zones.map((z, i) =>
    i === zones.length - 1
      ? w.zoneEnd(word(z.verdict), share(z.from))
      : w.zone(word(z.verdict), share(z.from), share(z.to)),
  );
  return (
    <figure class="rule-chart">
      <svg class="chart" viewBox={`0 0 ${width} ${height}`} role="img" aria-label={w.chart(spoken.join("; "))}>
        <rect class="band" x={left} y={top} width={x(1) - left} height={bottom - top} />
        {zones.map((z) => (
          <g key={z.from}>
            {z.from > 0 ? <line class="limit" x1={x(z.from)} x2={x(z.from)} y1={top - 26} y2={bottom} /> : null}
            {isVerdict(z.verdict) ? (
              <g transform={`translate(${((x(z.from) + x(z.to)) / 2 - 8).toFixed(1)} ${top - 24}) scale(.66)`}>
                <MarkShape verdict={z.verdict} />
              </g>
            ) : null}
          </g>
        ))}
        <line class="zero" x1={x(1)} x2={x(1)} y1={top} y2={bottom + 4} />
        <line class="zero" x1={left} x2={right} y1={bottom} y2={bottom} />
        <polyline
          class="trace"
          points={drawn.course.map((s) => `${x(s.value).toFixed(1)},${y(s.probability).toFixed(1)}`).join(" ")}
        />
        {[0, 0.5, 1].map((p) => (
          <text key={p} class="axis" x={left - 4} y={y(p) + 4} text-anchor="end">
            {showDecimal(p)}
          </text>
        ))}
        {[0, 0.5, 1, 1.5].map((s) => (
          <text key={s} class="axis" x={x(s)} y={bottom + 17} text-anchor="middle">
            {showDecimal(s)}
          </text>
        ))}
        <text class="axis" x={right} y={height - 4} text-anchor="end">
          {w.axis}
        </text>
      </svg>
      <figcaption>
        <p class="small quiet">{w.probability}</p>
        <ul class="zones">
          {zones.map((z, i) => (
            <li key={z.from}>
              {isVerdict(z.verdict) ? <Mark verdict={z.verdict} /> : z.verdict}{" "}
              <span>{i === zones.length - 1 ? `${share(z.from)} …` : `${share(z.from)} … ${share(z.to)}`}</span>
            </li>
          ))}
        </ul>
        <p>
          {drawn.guard > 0 ? `${w.band(share(drawn.guard))} ` : ""}
          {w.atLimit(showShare(drawn.risk_of_wrong_acceptance))}
        </p>
      </figcaption>
    </figure>
  );
}
