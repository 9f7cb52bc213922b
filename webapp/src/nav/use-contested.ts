import { useEffect, useState } from "preact/hooks";
import { askContested, unsaid } from "../records/contested";
import type { RecordState } from "../wire/records";

/** useContested asks which fields of records are contested, and redraws when the answer comes. */
export function useContested(...records: (RecordState | null | undefined)[]): void {
  const [, drawn] = useState({});
  const here = records.filter((r): r is RecordState => r !== null && r !== undefined);
  useEffect(() => {
    if (unsaid(here).length === 0) return;
    let mounted = true;
    askContested(here).then(() => mounted && drawn({}), console.error);
    return () => {
      mounted = false;
    };
  }, here);
}
