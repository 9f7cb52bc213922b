import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Complaint, type useKeep } from "../../nav/keep";
import { Button } from "../../parts/button";
import { visitWords } from "../../words/visit";

const w = visitWords.run;

/** VentFirst ends work under pressure: it continues only once the venting is ticked. */
export function VentFirst({
  k,
  label,
  onGo,
  onBack,
  children,
}: {
  k: ReturnType<typeof useKeep>;
  label: string;
  onGo: () => void;
  onBack: () => void;
  children?: ComponentChildren;
}) {
  const [vented, setVented] = useState(false);
  return (
    <>
      <h1>{w.stopTitle}</h1>
      <p class="instruction">{w.stopText}</p>
      <div class="ticks">
        <label>
          <input type="checkbox" checked={vented} onChange={() => setVented(!vented)} />
          <span>{w.vented}</span>
        </label>
      </div>
      {children}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={!vented || k.busy} onClick={onGo}>
        {label}
      </Button>
      <div class="visit-foot">
        <Button kind="quiet" onClick={onBack}>
          {visitWords.finish.back}
        </Button>
      </div>
    </>
  );
}
