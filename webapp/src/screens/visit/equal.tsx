import { useEffect, useState } from "preact/hooks";
import { inUnit, plainly } from "../../records/units";
import { amount } from "../../views/instruct";
import { visitWords } from "../../words/visit";

/** Equal shows a typed value in the unit of the verdict. */
export function Equal({ value, unit, to }: { value: string; unit: string; to: string }) {
  const asked = `${value} ${unit} ${to}`;
  const [turned, set] = useState({ asked: "", is: "" });
  useEffect(() => {
    let here = true;
    inUnit(value, unit, to).then(
      (is) => here && set({ asked, is }),
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
    };
  }, [value, unit, to]);
  if (turned.asked !== asked) return null;
  // Six digits are what a person compares.
  return <span class="quiet">{visitWords.pad.equal(amount(plainly(Number(turned.is), 6), to))}</span>;
}
