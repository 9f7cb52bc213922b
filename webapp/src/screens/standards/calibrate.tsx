import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Choice } from "../../parts/field";
import { navigate } from "../../nav/route";
import { useLink } from "../../nav/status";
import { useKind } from "../../store/hooks";
import { readField } from "../../wire/read";
import { type RecordState, text } from "../../wire/records";
import { standardsWords as w } from "../../words/standards";
import { words } from "../../words/words";
import { showRange } from "../../records/facts";
import { Complaint, useKeep } from "../../nav/keep";
import { beginVisit, keptOf, methodNow } from "../../records/item";
import type { Doc } from "./standards-data";

/** Calibrate begins a visit in which a range of a standard is the instrument. */
export function Calibrate({ standard, ranges, onDone }: { standard: RecordState; ranges: Doc[]; onDone: () => void }) {
  const methods = useKind("method");
  const user = useLink().user;
  const [at, setAt] = useState("0");
  const [chosen, choose] = useState<string | undefined>();
  const k = useKeep();
  if (!methods) return <p class="quiet">{words.shell.loading}</p>;
  const usable = methods
    .filter((m) => readField("method", m, "definition").kind === "gauge" && text(m, "status") !== "withdrawn")
    .sort((a, b) => text(a, "name").localeCompare(text(b, "name")));
  const method = usable.find((m) => m.id === chosen);
  const range = ranges[Number(at)];
  const go = () => {
    if (!method || !range) return k.say(w.needed(w.method));
    k.keep(async () => {
      const { item } = await keptOf(range, standard);
      navigate(`/visit/${await beginVisit(standard, methodNow(method), item, user?.id ?? "")}`);
    });
  };
  return (
    <section class="office-form" aria-label={w.calibrate}>
      <h2>{w.calibrate}</h2>
      <p class="quiet">{w.calibrateHint}</p>
      {ranges.length > 1 ? (
        <Choice
          label={w.forRange}
          value={at}
          onChange={setAt}
          options={ranges.map((r, i) => [String(i), showRange(r)] as const)}
        />
      ) : null}
      {usable.length === 0 ? (
        <p>{w.noMethods}</p>
      ) : (
        <Choice
          label={w.method}
          value={chosen}
          onChange={choose}
          options={usable.map((m) => [m.id, text(m, "name")] as const)}
        />
      )}
      <Complaint error={k.error} />
      <div class="buttons">
        <Button kind="main" disabled={k.busy} onClick={go}>
          {w.start}
        </Button>
        <Button onClick={onDone}>{w.cancel}</Button>
      </div>
    </section>
  );
}
