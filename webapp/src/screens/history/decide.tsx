import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Complaint, send, useDoing } from "../../nav/asking";
import type { Advice } from "../../records/figures-reply";
import { historyWords as w } from "../../words/history";

/** open says whether an advice needs a decision. */
export const open = (a: Advice) => a.action === "reduce" || a.action === "sooner" || a.action === "extend";

type Props = { rows: Advice[]; all?: (() => void) | undefined; onDone: (n: number) => void };

/** Decide keeps a person's decision on advice, with the reason. */
export function Decide({ rows, all, onDone }: Props) {
  const [why, setWhy] = useState("");
  const [tried, attempt] = useState(false);
  const d = useDoing();
  const go = (accept: boolean) => {
    attempt(true);
    if (why.trim() === "" || rows.length === 0) return;
    d.run(async () => {
      const reply = (await send("/api/office/advice", {
        instruments: rows.map((a) => a.id),
        shown: rows.map((a) => `${a.action} ${a.months}`),
        accept,
        why,
      })) as { decided: number };
      setWhy("");
      attempt(false);
      onDone(reply.decided);
    });
  };
  const none = rows.length === 0;
  return (
    <div class="decide">
      <p aria-live="polite">
        {w.chosen(rows.length)}{" "}
        {all ? (
          <button type="button" class="link" onClick={all}>
            {w.chooseAll}
          </button>
        ) : null}
      </p>
      {none ? null : (
        <>
          <Field
            label={w.words}
            value={why}
            onInput={setWhy}
            {...(tried && why.trim() === "" ? { error: w.need } : {})}
          />
          <Complaint error={d.error} />
          <div class="buttons">
            <Button kind="main" disabled={d.busy} onClick={() => go(true)}>
              {w.accept}
            </Button>
            <Button disabled={d.busy} onClick={() => go(false)}>
              {w.refuse}
            </Button>
          </div>
        </>
      )}
    </div>
  );
}
