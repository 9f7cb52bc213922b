import { airWords as w } from "../../words/air";
import { showDecimal } from "../../words/words";
import { type Alone, moveOf, type PressureUnit, pressure, type Way } from "./air-data";
import { WayTable } from "./air-way";

const feet = (x: number) => `${showDecimal(Math.round(x))}\u00a0ft`;

/**
 * AbortCard says what to do, in order, when a test has to end now, with the figures for the present
 * condition, and the way back.
 */
export function AbortCard({
  way,
  failed,
  unit,
  open,
}: {
  way: Way | undefined;
  failed: boolean;
  unit: PressureUnit;
  open: boolean;
}) {
  if (!open) return null;
  if (!way)
    return (
      <section class="abort" aria-label={w.abortTitle}>
        <h2>{w.abortTitle}</h2>
        <ol>
          <li>{w.steps.stop}</li>
          <li>{w.steps.joinFirst}</li>
          <li>{w.steps.look}</li>
        </ol>
        <p role="status">{failed ? w.noFigures : w.working}</p>
        <p class="caution">{w.defer}</p>
      </section>
    );
  const shown = unit === "own" ? "hPa" : unit;
  const { reached: from, heading, home } = way;
  const back = moveOf(way.back);
  const field = pressure(home.static_pa, shown);
  const slow = (pa: number | undefined) =>
    pa === undefined ? "\u2013" : `${showDecimal(Math.abs(pa).toFixed(0))}\u00a0Pa/s`;
  const staticAlone = (f: Alone) =>
    f.crossing_ft === undefined
      ? w.neverStaticAtOnce
      : f.trapped
        ? w.neverStaticTrapped
        : w.neverStatic(feet(f.crossing_ft));
  const never = (static_pa: number, f: Alone | undefined) =>
    f === undefined ? null : f.level ? (
      <p>{w.level}</p>
    ) : (
      <ul>
        <li>{staticAlone(f)}</li>
        <li>
          {f.pitot_kt === undefined
            ? w.neverPitotBelow
            : w.neverPitot(
                pressure(home.static_pa - static_pa, shown),
                `${showDecimal(f.pitot_kt.toFixed(0))}\u00a0kt`,
              )}
        </li>
      </ul>
    );
  return (
    <section class="abort" aria-label={w.abortTitle}>
      <h2>{w.abortTitle}</h2>
      <ol>
        <li>{w.steps.stop}</li>
        <li>{w.steps.join(pressure(from.static_pa + from.impact_pa, shown), pressure(from.static_pa, shown))}</li>
        <li>
          {w.steps.down(
            field,
            way.climb_ft_min === undefined ? "\u2013" : `${showDecimal(Math.round(way.climb_ft_min))}\u00a0ft/min`,
            slow(way.here_pa_s),
            slow(way.field_pa_s),
          )}
        </li>
        <li>{w.steps.open(field)}</li>
        <li>{w.steps.look}</li>
      </ol>
      <h3>{w.never}</h3>
      <p class="quiet">{`${w.abortNow}: ${feet(from.altitude_ft)}, ${showDecimal(from.cas_kt)}\u00a0kt`}</p>
      {never(from.static_pa, way.alone)}
      {heading ? (
        <>
          <p class="quiet">{`${w.abortThen}: ${feet(heading.altitude_ft)}, ${showDecimal(heading.cas_kt)}\u00a0kt (${w.pitotLine} ${pressure(heading.static_pa + heading.impact_pa, shown)}, ${w.staticLine} ${pressure(heading.static_pa, shown)})`}</p>
          {never(heading.static_pa, way.alone_then)}
        </>
      ) : null}
      <h3>{w.wayHome}</h3>
      {typeof back === "string" ? <p>{w.noWay(back)}</p> : back ? <WayTable way={back} unit={unit} /> : null}
      <p class="caution">{w.defer}</p>
    </section>
  );
}
