import { useEffect, useState } from "preact/hooks";
import type { RecordState } from "../wire/records";
import { byKind, byParent, type Notice, record, subscribe, visitsOf } from "./store";

/** After a read a screen rests for this many times as long as the read took: a plant that arrives must not be read anew with every piece. */
const rest = 4;

/** useLive reads once and again whenever concerns says so; undefined until the first answer. */
export function useLive<T>(read: () => Promise<T>, concerns: (notice: Notice) => boolean, keys: unknown[]): T | undefined {
  const [state, set] = useState<T | undefined>(undefined);
  useEffect(() => {
    let here = true;
    let busy = false;
    let missed = false;
    const again = async (): Promise<void> => {
      missed = busy;
      if (busy) return;
      busy = true;
      const began = performance.now();
      try {
        const v = await read();
        if (here) set(() => v);
      } catch (e) {
        console.error(e);
      }
      setTimeout(
        () => {
          busy = false;
          if (missed && here) void again();
        },
        rest * (performance.now() - began),
      );
    };
    set(undefined);
    void again();
    const end = subscribe((n) => concerns(n) && void again());
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
