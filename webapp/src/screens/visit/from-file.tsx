import type { ComponentChildren } from "preact";
import { Bench } from "../../parts/bench";
import { Button } from "../../parts/button";
import { Later } from "../../parts/later";
import type { RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { useDraft } from "./draft";
import { kindOf } from "../../views/kinds";
import type { Step } from "../../records/run";

export const loadTrace = () => import("../../views/trace/trace").then((m) => m.Trace);

type Props = {
  visit: RecordState;
  run: RecordState;
  step: Step;
  /** Continues without the step, if it may be left out. */
  onSkip: (() => void) | undefined;
  head: ComponentChildren;
  foot: (own: ComponentChildren) => ComponentChildren;
  /** The pad, with a foot that offers the file too. */
  children: (foot: (own: ComponentChildren) => ComponentChildren) => ComponentChildren;
};

/**
 * FromFile offers a logger's file beside the pad of a step that takes one. A step that takes only a
 * file has no pad.
 */
export function FromFile({ visit, run, step, onSkip, head, foot, children }: Props) {
  const [open, setOpen] = useDraft(`${run.id} ${step.id} file`); // survives a redraw of the screen
  if (!step.trace) return <>{children(foot)}</>;
  const back = () => setOpen("");
  if (open !== "")
    return (
      <Later
        key="file"
        load={loadTrace}
        props={{ visit, run, step, kind: kindOf(visit), onKept: back, onBack: back }}
      />
    );
  if (step.optional && !step.many)
    return (
      <Bench
        head={
          <>
            {head}
            {step.text === "" ? null : <p class="instruction">{step.text}</p>}
          </>
        }
        act={
          <>
            {onSkip ? (
              <Button kind="main" size="tall" wide onClick={onSkip}>
                {visitWords.run.typeThem}
              </Button>
            ) : null}
            <Button size="tall" wide onClick={() => setOpen("open")}>
              {visitWords.fromFile}
            </Button>
          </>
        }
        foot={foot(null)}
      />
    );
  const offer = (own: ComponentChildren) =>
    foot(
      <>
        {own}
        <Button kind="quiet" onClick={() => setOpen("open")} label={visitWords.fromFile}>
          {visitWords.run.fileShort}
        </Button>
      </>,
    );
  return <>{children(offer)}</>;
}
