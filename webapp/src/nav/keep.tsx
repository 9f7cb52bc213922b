import { useState } from "preact/hooks";
import { CalcError } from "../calc/calc";
import { commit, StoreError } from "../store/store";
import type { Json, RecordState } from "../wire/records";
import { visitWords } from "../words/visit";

/** put writes fields of an existing record. */
export async function put(record: RecordState, fields: { [field: string]: Json }): Promise<void> {
  const set = Object.entries(fields).map(([field, value]) => ({ field, value }));
  await commit({ record: record.id, kind: record.kind, site: record.site, parent: record.parent, set });
}

function why(e: unknown): string {
  if (e instanceof StoreError && e.code === "away") return visitWords.recordAway;
  if (e instanceof StoreError)
    return e.code === "full" ? visitWords.storeFull : e.code === "slow" ? visitWords.storeSlow : visitWords.notKept;
  if (e instanceof CalcError) return visitWords.refused(e.field, e.message);
  return visitWords.notKept;
}

export type Keep = {
  busy: boolean;
  error: string | undefined;
  say: (error: string | undefined) => void;
  keep: (work: () => Promise<void>) => void;
};

/**
 * useKeep runs one write at a time and reports at once what could not be kept. It leaves what was
 * typed as it is.
 */
export function useKeep(): Keep {
  const [busy, setBusy] = useState(false);
  const [error, say] = useState<string | undefined>();
  const keep = (work: () => Promise<void>) => {
    if (busy) return;
    setBusy(true);
    say(undefined);
    work()
      .catch((e: unknown) => {
        console.error(e);
        say(why(e));
      })
      .finally(() => setBusy(false));
  };
  return { busy, error, say, keep };
}

/** Complaint is an error message that is read out at once. */
export function Complaint({ error }: { error: string | undefined }) {
  return error === undefined ? null : (
    <p class="complaint" role="alert">
      {error}
    </p>
  );
}
