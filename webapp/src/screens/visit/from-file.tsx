import type { ComponentChildren } from "preact";
import { Button } from "../../parts/button";
import { Later } from "../../parts/later";
import type { RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { useDraft } from "./draft";
import { kindOf } from "./kinds";
import type { Step } from "./run";

export const loadTrace = () => import("../trace/trace").then((m) => m.Trace);

type Props = {
  visit: RecordState;
  run: RecordState;
  step: Step;
  /** Goes on without the step, where it may be left out. */
  onSkip: (() => void) | undefined;
  children: ComponentChildren;
};

/** FromFile offers a logger's file beside the pad of a step that takes one; a step that takes nothing else has no pad. */
export function FromFile({ visit, run, step, onSkip, children }: Props) {
  const [open, setOpen] = useDraft(`${run.id} ${step.id} file`); // outlasts a screen that is drawn anew
  if (!step.trace) return <>{children}</>;
  const back = () => setOpen("");
  if (open !== "") return <Later key="file" load={loadTrace} props={{ visit, run, step, kind: kindOf(visit), onKept: back, onBack: back }} />;
  const only = step.optional && !step.many;
  return (
    <>
      {only ? null : children}
      {only && step.text !== "" ? <p class="instruction">{step.text}</p> : null}
      <div class="buttons">
        <Button size="tall" onClick={() => setOpen("open")}>
          {visitWords.fromFile}
        </Button>
        {only && onSkip ? (
          <Button kind="quiet" size="tall" onClick={onSkip}>
            {visitWords.run.goOn}
          </Button>
        ) : null}
      </div>
    </>
  );
}
