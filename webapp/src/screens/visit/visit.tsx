import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Later } from "../../parts/later";
import { useChildren, useRecord } from "../../store/hooks";
import { asText, object, type RecordState, text } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { words } from "../../words/words";
import { Done, Finish } from "./finish";
import { Complaint, useKeep } from "./keep";
import { loadStandard } from "./later";
import { Adjusted } from "./result";
import { type Stage, stageOf } from "./run";
import { Begin, beginRun, locked, Runner } from "./runner";
import { Cautions, Identity } from "./start";
import { Surroundings } from "./surroundings";

function Repeat({ visit, onBack }: { visit: RecordState; onBack: () => void }) {
  const [vented, setVented] = useState(false);
  const k = useKeep();
  const w = visitWords.run;
  const go = () =>
    k.keep(async () => {
      await beginRun(visit, "repeat");
      onBack();
    });
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
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={!vented || k.busy} onClick={go}>
        {visitWords.finish.repeat}
      </Button>
      <div class="visit-foot">
        <Button kind="quiet" onClick={onBack}>
          {visitWords.finish.back}
        </Button>
      </div>
    </>
  );
}

function Here({ stage, visit, runs, onRepeat }: { stage: Stage; visit: RecordState; runs: RecordState[]; onRepeat: (() => void) | undefined }) {
  switch (stage.kind) {
    case "cautions":
      return <Cautions visit={visit} />;
    case "identity":
      return <Identity visit={visit} />;
    case "standard":
      return <Later load={loadStandard} props={{ visit }} />;
    case "surroundings":
      return <Surroundings visit={visit} />;
    case "begin":
      return <Begin visit={visit} label={stage.label} />;
    case "run":
      return <Runner key={stage.run.id} visit={visit} run={stage.run} />;
    case "adjusted":
      return <Adjusted visit={visit} run={stage.run} onRepeat={onRepeat} />;
    case "finish":
      return <Finish visit={visit} runs={runs} onRepeat={onRepeat} />;
    case "done":
      return <Done visit={visit} runs={runs} />;
    default: {
      const never: never = stage;
      return never;
    }
  }
}

/** VisitScreen leads through a visit; where it stands follows from the records alone, so that a reload changes nothing. */
export function VisitScreen({ id }: { id: string }) {
  const visit = useRecord(id);
  const runs = useChildren(id);
  const [repeating, repeat] = useState(false);
  if (visit === undefined || runs === undefined) return <p class="quiet">{words.shell.loading}</p>;
  if (visit === null) return <p>{visitWords.missing}</p>;
  const stage = stageOf(visit, runs);
  const once = runs.some(locked);
  return (
    <div class="visit">
      {stage.kind === "run" ? null : (
        <p class="visit-where">
          <a href={`/instrument/${text(visit, "instrument")}`}>{asText(object(visit, "item")["tag"])}</a>
          <span>{asText(object(visit, "method")["name"])}</span>
        </p>
      )}
      {repeating && !once && stage.kind !== "run" ? (
        <Repeat visit={visit} onBack={() => repeat(false)} />
      ) : (
        <Here stage={stage} visit={visit} runs={runs} onRepeat={once ? undefined : () => repeat(true)} />
      )}
    </div>
  );
}
