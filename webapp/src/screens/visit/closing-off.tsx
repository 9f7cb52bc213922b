import { useEffect, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Later } from "../../parts/later";
import { object, type RecordState } from "../../wire/records";
import { afterWords as w } from "../../words/after";
import { put, useKeep } from "../../nav/keep";
import { loadFacts } from "../../views/later";
import { TickBypasses } from "./bypasses";
import { useAfter, WhatNow, wayOf } from "./what-now";

/**
 * BeforeSigning takes the answers that are needed before a visit is signed: what happens after a
 * failure, and every bypass. It shows what is still open.
 */
export function BeforeSigning({
  visit,
  runs,
  onOpen,
}: {
  visit: RecordState;
  runs: RecordState[];
  onOpen: (open: string | undefined) => void;
}) {
  const { after, current } = useAfter(visit, runs);
  const k = useKeep();
  const [keeping, onKeeping] = useState<RecordState | undefined>(); // the visit as it was when an answer was given
  const open =
    after === undefined || !current || keeping === visit
      ? undefined
      : after.asked
        ? w.asked
        : after.unsettled > 0
          ? w.bypass.settle
          : "";
  useEffect(() => onOpen(open), [open]);
  const said = wayOf(object(visit, "disposition"));
  return (
    <>
      {after?.asked ? <WhatNow visit={visit} runs={runs} after={after} onKeeping={onKeeping} /> : null}
      {after?.failed && said !== "" ? (
        <>
          <Later key={JSON.stringify(object(visit, "disposition"))} load={loadFacts} props={{ visit }} />
          <Button disabled={k.busy} onClick={() => k.keep(() => put(visit, { disposition: {} }))}>
            {w.change}
          </Button>
        </>
      ) : null}
      <TickBypasses visit={visit} />
    </>
  );
}
