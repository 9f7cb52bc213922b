import { useEffect, useState } from "preact/hooks";
import { call } from "../calc/calc";
import type { Calculations } from "../wire/calculations.gen";

/**
 * useCalc runs a calculation whenever its input changes; undefined until it has replied, or if
 * there is no input. The last reply stays until the next one has come.
 */
export function useCalc<N extends keyof Calculations>(
  name: N,
  input: Calculations[N]["input"] | undefined,
): Calculations[N]["output"] | undefined {
  const [reply, set] = useState<Calculations[N]["output"] | undefined>();
  const asked = input === undefined ? undefined : JSON.stringify(input);
  useEffect(() => {
    let mounted = true;
    if (input !== undefined) call(name, input).then((r) => mounted && set(r), console.error);
    return () => {
      mounted = false;
    };
  }, [name, asked]);
  return asked === undefined ? undefined : reply;
}
