import { Fragment } from "preact";
import { isVerdict, Mark } from "../parts/mark";
import { budgetWords } from "../words/budget";
import { visitWords } from "../words/visit";
import { showDecimal } from "../words/words";
import { errorIn, useFigures } from "../nav/use-figures";
import { showExact, showTo } from "../records/budget";
import type { Reading } from "../records/sheet";
import type { FiguresInput } from "../wire/calculations.gen";

const w = visitWords.result;

type Asked = FiguresInput["results"][number];
/** The input for rounding one reading. */
type Figures = { error?: Asked; applied?: Asked; measured?: Asked; ideal?: Asked };

/**
 * Readings is the table of a run's readings: point, error, limit, expanded uncertainty and verdict.
 */
export function Readings({
  label,
  readings,
  expanded,
  unit,
  signal,
}: {
  label: string;
  readings: Reading[];
  expanded: Map<number, number>;
  unit: string;
  signal: string;
}) {
  // For a transmitter, whose errors are not in the unit of its points.
  const of = (name: string) => (signal === unit ? name : `${name}, ${signal}`);
  const asked = readings.map((r): Figures => {
    const u = expanded.get(Number(r.point));
    const near = (value: number) => ({ value, ...(u === undefined ? {} : { expanded: u }) });
    return {
      error: u === undefined ? errorIn(r) : { ...errorIn(r), expanded: u },
      ...(r.signal
        ? { measured: near(r.signal.measured), ideal: near(r.signal.ideal) }
        : u === undefined
          ? {}
          : { applied: near(r.applied) }),
    };
  });
  const list = asked.flatMap((a) => Object.values(a));
  const figures = useFigures(list);
  const figure = (of: (typeof list)[number] | undefined) => (of ? figures[list.indexOf(of)] : undefined);
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
    <section class="scroll" tabIndex={0} aria-label={`${label}: ${w.table}`}>
      <table class="readings">
        <thead>
          <tr>
            <th scope="col">{`${w.point}, ${unit}`}</th>
            <th scope="col" class="number">
              {of(w.error)}
            </th>
            <th scope="col" class="number">
              {of(w.limit)}
            </th>
            {expanded.size > 0 ? (
              <th scope="col" class="number">
                <abbr title={budgetWords.uncertaintyFull}>{of(budgetWords.uncertainty)}</abbr>
              </th>
            ) : null}
            <th scope="col">{w.verdict}</th>
          </tr>
        </thead>
        <tbody>
          {readings.map((r, i) => {
            const { error, applied, measured, ideal }: Figures = asked[i] ?? {};
            return (
              <Fragment key={r.step}>
                <tr class={r.signal ? "with-more" : ""}>
                  <td>
                    {applied ? figure(applied)?.value : showExact(r.applied)}{" "}
                    <span aria-hidden="true">{r.direction === "down" ? "\u2193" : "\u2191"}</span>
                    <span class="unseen">{r.direction === "down" ? w.down : w.up}</span>
                  </td>
                  <td class="number">{figure(error)?.value}</td>
                  <td class="number">{`\u00b1 ${showDecimal(r.high)}`}</td>
                  {expanded.size > 0 ? <td class="number">{figure(error)?.expanded}</td> : null}
                  <td>{isVerdict(r.verdict) ? <Mark verdict={r.verdict} /> : null}</td>
                </tr>
                {r.signal ? (
                  <tr class="more">
                    <td colSpan={expanded.size > 0 ? 5 : 4}>
                      {w.ideal(figure(measured)?.value ?? "", figure(ideal)?.value ?? "")};{" "}
                      {w.ofSpan(showTo(r.signal.percent, 2))}
                      {r.signal.pressure === undefined ? "" : `, ${showTo(r.signal.pressure, 2)} ${unit}`}
                    </td>
                  </tr>
                ) : null}
              </Fragment>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}
