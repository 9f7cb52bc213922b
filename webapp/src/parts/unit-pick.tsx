import { visitWords } from "../words/visit";

type Props = { unit: string; units?: readonly string[] | undefined; onUnit?: ((unit: string) => void) | undefined };

/** UnitPick shows a unit. If other units are allowed, it is a drop-down list. */
export function UnitPick({ unit, units = [], onUnit }: Props) {
  if (!onUnit || units.length < 2) return <span class="pad-unit">{unit}</span>;
  return (
    <select
      class="pad-unit"
      aria-label={visitWords.pad.unit(unit)}
      value={unit}
      onChange={(e) => onUnit(e.currentTarget.value)}
    >
      {units.map((u) => (
        <option key={u} value={u}>
          {u}
        </option>
      ))}
    </select>
  );
}
