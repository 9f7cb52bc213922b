import { Button } from "../../parts/button";
import { useRecord } from "../../store/hooks";
import { type RecordState, text } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { Complaint, put, useKeep } from "../../nav/keep";

/**
 * Join says whose visit this is and lets another technician help with it. The server accepts their
 * entries from then on.
 */
export function Join({ visit, me }: { visit: RecordState; me: string }) {
  const w = visitWords.join;
  const person = text(visit, "person");
  const name = text(useRecord(person) ?? undefined, "name");
  const k = useKeep();
  return (
    <>
      <h1>{w.title}</h1>
      <p>{w.of(name || person)}</p>
      <Complaint error={k.error} />
      <Button
        kind="main"
        size="tall"
        wide
        disabled={k.busy}
        onClick={() => k.keep(() => put(visit, { [`with.${me}`]: { at: new Date().toISOString() } }))}
      >
        {w.go}
      </Button>
    </>
  );
}
