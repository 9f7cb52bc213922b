import { useState } from "preact/hooks";
import { Later } from "../../parts/later";
import { readField } from "../../wire/read";
import type { RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";

/** The drawing comes when it is first looked at. */
const loadConnection = () => import("../../views/connection").then((m) => m.Connection);

/** Connect shows on demand, or at once, how the parts of a test are connected. */
export function Connect({ visit, opened = false }: { visit: RecordState; opened?: boolean }) {
  const [open, setOpen] = useState(opened);
  const { kind, output } = readField("visit", visit, "item");
  const method = readField("visit", visit, "method").definition.kind;
  const together = readField("visit", visit, "manifold").visits.length > 1;
  return (
    <details class="opened" open={open} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>{visitWords.connect}</summary>
      {open ? (
        <Later
          load={loadConnection}
          props={{ kind: method === "programme" ? kind : method, signal: output !== undefined, together }}
        />
      ) : null}
    </details>
  );
}
