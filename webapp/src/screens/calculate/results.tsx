import type { ComponentChildren } from "preact";
import { Button } from "../../parts/button";
import { showNear, showSmall, showTo } from "../../records/budget";
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

/** A degree of freedom with a decimal where it has one. */
const dofOf = (n: number) => showTo(n, n < 100 ? 3 : 4);

/** ObservationsResult shows means, their uncertainties and how they move together. */
export function ObservationsResult({ out, onUse }: { out: ObservationsOutput; onUse: () => void }) {
  const o = w.observations;
  return (
    <>
      <Table
        caption={o.caption}
        columns={o.columns}
        rows={out.series.map((s) => [
          s.name,
          String(s.n),
          showNear(s.mean, s.u),
          showSmall(s.s),
          showSmall(s.u),
          dofOf(s.dof),
        ])}
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
  const more: Rows = [[l.correlation, showTo(out.correlation, 3), ""]];
  if (out.s !== undefined) more.push([l.scatter, showSmall(out.s), ""]);
  if (out.dof !== undefined) more.push([l.dof, String(out.dof), ""]);
  if (out.chi_squared !== undefined) more.push([l.chi, showTo(out.chi_squared, 4), showSmall(out.chi_probability)]);
  return (
    <>
      <Table
        caption={l.caption}
        columns={[l.parameter, l.value, l.u]}
        rows={[
          [l.intercept, showNear(out.intercept, out.u_intercept), showSmall(out.u_intercept)],
          [l.slope, showNear(out.slope, out.u_slope), showSmall(out.u_slope)],
          ...more,
        ]}
      />
      {out.at.length > 0 ? (
        <>
          <Table
            caption={l.at}
            columns={l.columns}
            rows={out.at.map((p) => [
              showDecimal(String(p.x)),
              showNear(p.y, p.expanded),
              showSmall(p.u),
              showSmall(p.expanded),
            ])}
          />
          <p class="small quiet">{l.k(showTo(out.k, 3))}</p>
        </>
      ) : null}
      <Button onClick={onUse}>{w.use}</Button>
    </>
  );
}

/** ModelResult shows what a formula gives, its budget, and its trials where there were any. */
export function ModelResult({ out }: { out: ModelOutput }) {
  const m = w.model;
  const t = out.trials;
  const near = (x: number) => showNear(x, t?.sd);
  return (
    <>
      <p>
        <strong>{m.value(showNear(out.value, out.expanded), showSmall(out.expanded), showTo(out.k, 3))}</strong>
        <br />
        {m.u(showSmall(out.u))}
        {out.dof === undefined ? "" : `, ${m.dof(dofOf(out.dof))}`}
      </p>
      <Table
        caption={m.caption}
        columns={m.columns}
        rows={out.terms.map((x) => [
          x.name,
          showNear(x.value, x.u),
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
              [m.mean, near(t.mean)],
              [m.sd, showSmall(t.sd)],
              [m.symmetric, m.to(near(t.low), near(t.high))],
              [m.shortest, m.to(near(t.shortest_low), near(t.shortest_high))],
            ]}
          />
          <p>{t.agrees ? m.agrees : m.differs}</p>
          {t.stable ? null : <p class="attention">{m.unstable}</p>}
        </>
      ) : null}
    </>
  );
}
