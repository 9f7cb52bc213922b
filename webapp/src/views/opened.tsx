import { useState } from "preact/hooks";
import { Later } from "../parts/later";
import type { RecordState } from "../wire/records";
import { budgetWords } from "../words/budget";

const load = () => import("./budget").then((m) => m.Budget);

/** OpenedBudget is closed at first. Its code is fetched when somebody opens it. */
export function OpenedBudget({ visit, run }: { visit: RecordState; run: RecordState }) {
  const [open, setOpen] = useState(false);
  return (
    <details class="opened" onToggle={(e) => setOpen((e.currentTarget as HTMLDetailsElement).open)}>
      <summary>{budgetWords.open}</summary>
      {open ? <Later key={run.id} load={load} props={{ visit, run }} /> : null}
    </details>
  );
}
