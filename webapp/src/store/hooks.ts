import { useEffect, useState } from "preact/hooks";
import type { RecordState } from "../wire/records";
import { byKind, byParent, type Notice, record, subscribe, visitsOf } from "./store";

/** useLive reads once and again whenever concerns says so; undefined until the first answer. */
export function useLive<T>(read: () => Promise<T>, concerns: (notice: Notice) => boolean, keys: unknown[]): T | undefined {
  const [state, set] = useState<T | undefined>(undefined);
  useEffect(() => {
    let here = true;
    const again = () => {
      read().then(
        (v) => here && set(() => v),
        (e: unknown) => console.error(e),
      );
    };
    set(undefined);
    again();
    const end = subscribe((n) => concerns(n) && again());
    return () => {
      here = false;
      end();
    };
  }, keys);
  return state;
}

/** useRecord follows one record; null when there is none, undefined while reading. */
export function useRecord(id: string): RecordState | null | undefined {
  return useLive(
    async () => (await record(id)) ?? null,
    (n) => n.records.includes(id),
    [id],
  );
}

/** useKind follows every record of a kind. */
export function useKind(kind: string): RecordState[] | undefined {
  return useLive(
    () => byKind(kind),
    (n) => n.kinds.includes(kind),
    [kind],
  );
}

/** useChildren follows every record below another one. */
export function useChildren(parent: string): RecordState[] | undefined {
  return useLive(
    () => byParent(parent),
    (n) => n.records.length > 0,
    [parent],
  );
}

/** useVisits follows every visit to an instrument. */
export function useVisits(instrument: string): RecordState[] | undefined {
  return useLive(
    () => visitsOf(instrument),
    (n) => n.kinds.includes("visit"),
    [instrument],
  );
}
