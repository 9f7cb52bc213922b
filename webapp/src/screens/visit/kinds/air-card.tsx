import { useEffect, useState } from "preact/hooks";
import { call } from "../../../calc/calc";
import { asNumber, asObject } from "../../../wire/records";
import { airWords as w } from "../../../words/air";
import { showDecimal } from "../../../words/words";
import { type Bounds, type Condition, moveDoc, type PressureUnit, pressure, type Profile, profileOf } from "./air-data";
import { WayTable } from "./air-way";

type Figures = { crossing: number | undefined; pitotKnots: number | undefined; here: number; there: number; way: Profile | string };

/** useFigures works out what the card says of a condition as soon as it stands, not when the card is opened. */
function useFigures(from: Condition, field: Condition, b: Bounds): Figures | undefined {
  const [figures, set] = useState<Figures | undefined>();
  const key = JSON.stringify([from, field.static, b.climb, b.knotRate]);
  useEffect(() => {
    let here = true;
    const one = (doc: { [name: string]: number }) => call("airdata", doc).then(asObject);
    const knotsOf = (pa: number) => (pa > 0 ? one({ static_pa: field.static, impact_pa: pa }).then((o) => asNumber(o["cas_kt"])) : Promise.resolve(undefined));
    const rateAt = (pa: number) => one({ static_pa: pa, climb_ft_min: -b.climb }).then((o) => asNumber(o["static_rate_pa_s"]) ?? 0);
    Promise.all([
      from.impact > 0 ? one({ static_pa: from.static + from.impact }).then((o) => asNumber(o["altitude_ft"])) : undefined,
      knotsOf(field.static - from.static),
      rateAt(from.static),
      rateAt(field.static),
      call("profile", moveDoc(from, { field: field.static, feet: field.feet }, b)).then(profileOf, (e: Error) => e.message),
    ])
      .then(([crossing, pitotKnots, rateHere, rateThere, way]) => here && set({ crossing, pitotKnots, here: rateHere, there: rateThere, way }))
      .catch((e: unknown) => console.error(e));
    return () => {
      here = false;
    };
  }, [key]);
  return figures;
}

const feet = (x: number) => `${showDecimal(Math.round(x))}\u00a0ft`;

/** AbortCard says what to do in order when a test has to end now, with the figures of where it is, and the way back. */
export function AbortCard({
  from,
  heading,
  home,
  bounds,
  unit,
  open,
}: {
  from: Condition;
  heading: Condition | undefined;
  home: Condition;
  bounds: Bounds;
  unit: PressureUnit;
  open: boolean;
}) {
  const shown = unit === "own" ? "hPa" : unit;
  const figures = useFigures(from, home, bounds);
  const ahead = useFigures(heading ?? from, home, bounds);
  if (!open) return null;
  if (!figures || !ahead) return <p role="status">{w.working}</p>;
  const field = pressure(home.static, shown);
  const slow = (pa: number) => `${showDecimal(Math.abs(pa).toFixed(0))}\u00a0Pa/s`;
  const staticAlone = (c: Condition, f: Figures) => {
    if (c.impact <= 0 || f.crossing === undefined) return w.neverStaticAtOnce;
    return f.crossing < home.feet ? w.neverStaticTrapped : w.neverStatic(feet(f.crossing));
  };
  const never = (c: Condition, f: Figures) =>
    Math.abs(home.static - c.static) < 1 ? (
      <p>{w.level}</p>
    ) : (
      <ul>
        <li>{staticAlone(c, f)}</li>
        <li>
          {f.pitotKnots === undefined
            ? w.neverPitotBelow
            : w.neverPitot(pressure(home.static - c.static, shown), `${showDecimal(f.pitotKnots.toFixed(0))}\u00a0kt`)}
        </li>
      </ul>
    );
  return (
    <section class="abort" aria-label={w.abortTitle}>
      <h2>{w.abortTitle}</h2>
      <ol>
        <li>{w.steps.stop}</li>
        <li>{w.steps.join(pressure(from.static + from.impact, shown), pressure(from.static, shown))}</li>
        <li>{w.steps.down(field, `${showDecimal(Math.round(bounds.climb))}\u00a0ft/min`, slow(figures.here), slow(figures.there))}</li>
        <li>{w.steps.open(field)}</li>
        <li>{w.steps.look}</li>
      </ol>
      <h3>{w.never}</h3>
      <p class="quiet">{`${w.abortNow}: ${feet(from.feet)}, ${showDecimal(from.knots)}\u00a0kt`}</p>
      {never(from, figures)}
      {heading ? (
        <>
          <p class="quiet">{`${w.abortThen}: ${feet(heading.feet)}, ${showDecimal(heading.knots)}\u00a0kt (${w.pitotLine} ${pressure(heading.static + heading.impact, shown)}, ${w.staticLine} ${pressure(heading.static, shown)})`}</p>
          {never(heading, ahead)}
        </>
      ) : null}
      <h3>{w.wayHome}</h3>
      {typeof figures.way === "string" ? <p>{w.noWay(figures.way)}</p> : <WayTable way={figures.way} unit={unit} />}
      <p class="caution">{w.defer}</p>
    </section>
  );
}
