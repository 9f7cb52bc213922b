import { useEffect, useState } from "preact/hooks";
import { call } from "../calc/calc";

/** Units of temperature as people write them, by their names in the calculation. */
const degrees: { [name: string]: string } = { degC: "°C", degF: "°F" };

/** The table of units, fetched once. */
let table: Promise<{ unit: string; kind: string; factor: number; names: string[] }[]> | undefined;

const all = () => {
  table ??= call("units", { list: true }).then(({ units = [] }) =>
    units.map(({ unit, kind, factor, spellings = [] }) => ({ unit, kind, factor, names: [unit, ...spellings] })),
  );
  return table;
};

/** factorsOf gives what one of each unit of a kind is in the SI unit, as the module's table has it. */
export async function factorsOf(kind: string): Promise<Map<string, number>> {
  return new Map((await all()).flatMap((u) => (u.kind === kind ? [[u.unit, u.factor] as const] : [])));
}

/**
 * unitsBeside gives a unit and the others in which the same may be typed; only itself if it is not
 * in the table.
 */
export async function unitsBeside(unit: string): Promise<string[]> {
  const list = await all();
  const plain = unit.replace("°", "deg");
  const own = list.find((u) => u.names.includes(plain));
  if (!own) return [unit];
  return [unit, ...list.filter((u) => u.kind === own.kind && u !== own).map((u) => degrees[u.unit] ?? u.unit)];
}

/** useUnits is unitsBeside for a screen; the unit alone until the others are known. */
export function useUnits(unit: string): string[] {
  const [known, set] = useState([unit]);
  useEffect(() => {
    let here = true;
    unitsBeside(unit).then(
      (l) => here && set(l),
      (e: unknown) => console.error(e), // only its own unit is offered
    );
    return () => {
      here = false;
    };
  }, [unit]);
  return known[0] === unit ? known : [unit];
}

/** inUnit converts a decimal from one unit to another; twelve digits, without trailing zeros. */
export async function inUnit(value: string, from: string, to: string): Promise<string> {
  if (from === to) return value;
  const { value: turned } = await call("units", { quantity: `${value} ${from}`, to });
  return plainly(turned ?? Number.NaN);
}

/** plainly writes a number as a decimal text with that many digits, never with an exponent. */
export function plainly(x: number, digits = 12): string {
  const rounded = Number(x.toPrecision(digits));
  const s = String(rounded);
  if (!s.includes("e")) return s;
  return rounded.toFixed(Math.min(20, digits - Math.floor(Math.log10(Math.abs(x))))).replace(/0+$/, "");
}
