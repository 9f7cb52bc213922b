import { useLayoutEffect, useState } from "preact/hooks";
import type { RecordState } from "../wire/records";
import type { Late } from "./search";
import { keyTo } from "./shelf";
import { byKey, byKind, byParent, type Looked, lookUp, type Notice, record, subscribe } from "./store";

/**
 * After a read a screen waits this many times as long as the read took: it must not read again with
 * every piece of a plant that arrives.
 */
const rest = 4;

/**
 * useLive reads once, before the first frame, and again whenever concerns says so; undefined until
 * the first answer. read may report partial results and stops when that returns false. With keep, the
 * data of the previous keys stays until the new data arrives.
 */
export function useLive<T>(
  read: (say: (so: T) => boolean) => Promise<T>,
  concerns: (notice: Notice) => boolean,
  keys: unknown[],
  keep = false,
): T | undefined {
  const [state, set] = useState<T | undefined>(undefined);
  useLayoutEffect(() => {
    let here = true;
    let busy = false;
    let missed = false;
    const again = async (): Promise<void> => {
      missed = busy;
      if (busy) return;
      busy = true;
      const began = performance.now();
      try {
        const v = await read((so) => {
          if (here) set(() => so);
          return here;
        });
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
    if (!keep) set(undefined);
    void again();
    const end = subscribe((n) => concerns(n) && void again());
    return () => {
      here = false;
      end();
    };
  }, keys);
  return state;
}

/** useRecord follows one record; null if there is none, undefined while reading. */
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
    () => byKey(keyTo.visits(instrument)),
    (n) => n.kinds.includes("visit"),
    [instrument],
  );
}

/** useResults follows the imported past results of an instrument. */
export function useResults(instrument: string): RecordState[] | undefined {
  return useLive(
    () => byKey(keyTo.results(instrument)),
    (n) => n.kinds.includes("result"),
    [instrument],
  );
}

/** useRegister searches the instruments and reports its progress. */
export function useRegister(search: string, most: number, late: Late = { today: "", overdue: "" }): Looked | undefined {
  return useLive<Looked>(
    async (say) => {
      let so: Looked = { rows: [], found: 0, looked: 0, all: 0 };
      await lookUp(
        search,
        most,
        (now) => {
          so = now;
          return now.looked === now.all || say(now);
        },
        late,
      );
      return so;
    },
    (n) => n.kinds.includes("instrument"),
    [search, most, late.today],
    true, // the results for the earlier letters stay until the first new result
  );
}
