import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Choice } from "../../parts/field";
import { navigate } from "../../shell/route";
import { useLink } from "../../shell/status";
import { useKind } from "../../store/hooks";
import { commit } from "../../store/store";
import { asText, object, type RecordState, text, value } from "../../wire/records";
import { standardsWords as w } from "../../words/standards";
import { words } from "../../words/words";
import { showRange } from "../instrument/facts";
import { Complaint, useKeep } from "../visit/keep";
import { type Doc, itemOf } from "./standards-data";

/** Calibrate begins a visit in which a range of a standard is the instrument. */
export function Calibrate({ standard, ranges, onDone }: { standard: RecordState; ranges: Doc[]; onDone: () => void }) {
  const methods = useKind("method");
  const user = useLink().user;
  const [at, setAt] = useState("0");
  const [chosen, choose] = useState<string | undefined>();
  const k = useKeep();
  if (!methods) return <p class="quiet">{words.shell.loading}</p>;
  const usable = methods
    .filter((m) => asText(object(m, "definition")["kind"]) === "gauge" && text(m, "status") !== "withdrawn")
    .sort((a, b) => text(a, "name").localeCompare(text(b, "name")));
  const method = usable.find((m) => m.id === chosen);
  const range = ranges[Number(at)];
  const go = () => {
    if (!method || !range) return k.say(w.needed(w.method));
    k.keep(async () => {
      const made = await commit({
        kind: "visit",
        site: standard.site,
        parent: standard.id,
        set: [
          { field: "instrument", value: standard.id },
          {
            field: "method",
            value: { id: method.id, version: value(method, "version") ?? 1, name: text(method, "name"), definition: value(method, "definition") ?? null },
          },
          { field: "item", value: itemOf(standard, range) },
          { field: "started", value: new Date().toISOString() },
          { field: "person", value: user?.id ?? "" },
        ],
      });
      navigate(`/visit/${made.record.id}`);
    });
  };
  return (
    <section class="office-form" aria-label={w.calibrate}>
      <h2>{w.calibrate}</h2>
      <p class="quiet">{w.calibrateHint}</p>
      {ranges.length > 1 ? <Choice label={w.forRange} value={at} onChange={setAt} options={ranges.map((r, i) => [String(i), showRange(r)] as const)} /> : null}
      {usable.length === 0 ? (
        <p>{w.noMethods}</p>
      ) : (
        <Choice label={w.method} value={chosen} onChange={choose} options={usable.map((m) => [m.id, text(m, "name")] as const)} />
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
