import { useEffect, useState } from "preact/hooks";
import { call } from "../calc/calc";
import type { FiguresInput, FiguresOutput } from "../wire/calculations.gen";
import { showDecimal } from "../words/words";

type Asked = FiguresInput["results"];

/**
 * useFigures has the module round numbers to the digits that their uncertainty or limit justifies,
 * and writes them with the reader's decimal mark, in their order; none until the module has
 * replied.
 */
export function useFigures(results: Asked): FiguresOutput["results"] {
  const asked = JSON.stringify(results);
  const [said, set] = useState<{ asked: string; results: FiguresOutput["results"] }>({ asked: "[]", results: [] });
  useEffect(() => {
    let here = true;
    const write = ({ value, expanded }: FiguresOutput["results"][number]) => ({
      value: showDecimal(value),
      ...(expanded === undefined ? {} : { expanded: showDecimal(expanded) }),
    });
    if (results.length > 0)
      call("figures", { results }).then(
        (f) => here && set({ asked, results: f.results.map(write) }),
        (e: unknown) => console.error(e), // the numbers are shown without it
      );
    return () => {
      here = false;
    };
  }, [asked]);
  return said.asked === asked ? said.results : [];
}

type Judged = { error: number; low: number; high: number };

/** errorIn writes the input for rounding an error beside its limits. */
export const errorIn = ({ error, low, high }: Judged): Asked[number] => ({
  value: error,
  limit_low: low,
  limit_high: high,
  of_limit: true,
});
