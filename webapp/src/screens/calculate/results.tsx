import type { ComponentChildren } from "preact";
import { Button } from "../../parts/button";
import { useFigures } from "../../nav/use-figures";
import { showExact, showSmall, showTo } from "../../records/budget";
import type { LineOutput, ModelOutput, ObservationsOutput } from "../../wire/calculations.gen";
import { calculateWords as w } from "../../words/calculate";
import { showDecimal } from "../../words/words";

type Rows = ComponentChildren[][];

function Table({ caption, columns, rows }: { caption: string; columns: readonly string[]; rows: Rows }) {
  return (
    <table>
      <caption>{caption}</caption>
      {columns.length === 0 ? null : (
        <thead>
          <tr>
            {columns.map((c, i) => (
              <th key={c} scope="col" class={i === 0 ? "" : "number"}>
                {c}
              </th>
            ))}
          </tr>
        </thead>
      )}
      <tbody>
        {rows.map((row, i) => (
          <tr key={i}>
            {row.map((cell, n) =>
              n === 0 ? (
                <th key={n} scope="row">
                  {cell}
                </th>
              ) : (
                <td key={n} class="number">
                  {cell}
                </td>
              ),
            )}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/**
 * useNear writes values with the digits that their uncertainties justify. A value without one is
 * exact.
 */
function useNear(all: [value: number, u: number | undefined][]): string[] {
  const figures = useFigures(
    all.map(([value, u]) => ({ value, ...(u !== undefined && u > 0 ? { expanded: u } : {}) })),
  );
  return all.map(([value, u], i) => (u !== undefined && u > 0 ? (figures[i]?.value ?? "") : showExact(value)));
}

/** A degree of freedom, with a decimal if it has one. */
const dofOf = (n: number) => showTo(n, n < 100 ? 3 : 4);

/** ObservationsResult shows means, their uncertainties and their correlations. */
export function ObservationsResult({ out, onUse }: { out: ObservationsOutput; onUse: () => void }) {
  const o = w.observations;
  const means = useNear(out.series.map((s) => [s.mean, s.u]));
  return (
    <>
      <Table
        caption={o.caption}
        columns={o.columns}
        rows={out.series.map((s, i) => [s.name, String(s.n), means[i], showSmall(s.s), showSmall(s.u), dofOf(s.dof)])}
      />
      {out.correlations.length > 0 ? (
        <Table
          caption={o.correlations}
          columns={[]}
          rows={out.correlations.map((c) => [o.between(c.a, c.b), showSmall(c.r)])}
        />
      ) : null}
      <Button onClick={onUse}>{w.use}</Button>
    </>
  );
}

/** LineResult shows a line, its uncertainties, and the values on it that were asked for. */
export function LineResult({ out, onUse }: { out: LineOutput; onUse: () => void }) {
  const l = w.line;
  const [intercept, slope, ...at] = useNear([
    [out.intercept, out.u_intercept],
    [out.slope, out.u_slope],
    ...out.at.map((p): [number, number] => [p.y, p.expanded]),
  ]);
  const more: Rows = [[l.correlation, showTo(out.correlation, 3), ""]];
  if (out.s !== undefined) more.push([l.scatter, showSmall(out.s), ""]);
  if (out.dof !== undefined) more.push([l.dof, String(out.dof), ""]);
  if (out.chi_squared !== undefined) more.push([l.chi, showTo(out.chi_squared, 4), showSmall(out.chi_probability)]);
  return (
    <>
      <Table
        caption={l.caption}
        columns={[l.parameter, l.value, l.u]}
        rows={[[l.intercept, intercept, showSmall(out.u_intercept)], [l.slope, slope, showSmall(out.u_slope)], ...more]}
      />
      {out.at.length > 0 ? (
        <>
          <Table
            caption={l.at}
            columns={l.columns}
            rows={out.at.map((p, i) => [showDecimal(String(p.x)), at[i], showSmall(p.u), showSmall(p.expanded)])}
          />
          <p class="small quiet">{l.k(showTo(out.k, 3))}</p>
        </>
      ) : null}
      <Button onClick={onUse}>{w.use}</Button>
    </>
  );
}

/** ModelResult shows the result of a formula, its budget, and its Monte Carlo trials, if any. */
export function ModelResult({ out }: { out: ModelOutput }) {
  const m = w.model;
  const t = out.trials;
  const trials = t ? [t.mean, t.low, t.high, t.shortest_low, t.shortest_high] : [];
  const [value = "", ...others] = useNear([
    [out.value, out.expanded],
    ...out.terms.map((x): [number, number] => [x.value, x.u]),
    ...trials.map((x): [number, number | undefined] => [x, t?.sd]),
  ]);
  const [mean = "", low = "", high = "", shortLow = "", shortHigh = ""] = others.slice(out.terms.length);
  return (
    <>
      <p>
        <strong>{m.value(value, showSmall(out.expanded), showTo(out.k, 3))}</strong>
        <br />
        {m.u(showSmall(out.u))}
        {out.dof === undefined ? "" : `, ${m.dof(dofOf(out.dof))}`}
      </p>
      <Table
        caption={m.caption}
        columns={m.columns}
        rows={out.terms.map((x, i) => [
          x.name,
          others[i],
          showSmall(x.u),
          showTo(x.sensitivity, 4),
          showSmall(x.contribution),
          `${showTo(x.share * 100, 2)} %`,
        ])}
      />
      {t ? (
        <>
          <Table
            caption={m.trials}
            columns={[]}
            rows={[
              [m.trialsOf(showDecimal(String(t.count))), ""],
              [m.mean, mean],
              [m.sd, showSmall(t.sd)],
              [m.symmetric, m.to(low, high)],
              [m.shortest, m.to(shortLow, shortHigh)],
            ]}
          />
          <p>{t.agrees ? m.agrees : m.differs}</p>
          {t.stable ? null : <p class="attention">{m.unstable}</p>}
        </>
      ) : null}
    </>
  );
}
