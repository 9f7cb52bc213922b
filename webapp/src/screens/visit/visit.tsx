import { VentFirst } from "./vent-first";
import { readField } from "../../wire/read";
import { useEffect, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Later } from "../../parts/later";
import { useLink } from "../../nav/status";
import { useChildren, useRecord } from "../../store/hooks";
import { type RecordState, stampOf, text, value } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { showDate, words } from "../../words/words";
import { Begin, beginRun, locked } from "./begin";
import { useKeep } from "../../nav/keep";
import { loadStandard, loadSurroundings } from "./later";
import { loadAdjusted, loadBypasses, loadDone, loadFinish, loadSince, loadUntested } from "./later-finish";
import { loadBeforeStop, loadCautions, loadIdentity, loadService } from "./later-stops";
import { useRules } from "../../nav/use-rules";
import { helping, type Stage, stageOf } from "../../records/run";
import { notTested } from "../../records/halts";
import type { OnManifold } from "./manifold";

/** The run of a plan, step by step. */
const loadRunner = () => import("./runner").then((m) => m.Runner);

const loadElsewhere = () => import("../../views/elsewhere").then((m) => m.Elsewhere);
const loadTogether = () => import("./together").then((m) => m.Together);

const loadJoin = () => import("./asked").then((m) => m.Join);

function Repeat({ visit, onBack }: { visit: RecordState; onBack: () => void }) {
  const k = useKeep();
  const go = () =>
    k.keep(async () => {
      await beginRun(visit, "repeat");
      onBack();
    });
  return <VentFirst k={k} label={visitWords.finish.repeat} onGo={go} onBack={onBack} />;
}

function Here({
  stage,
  visit,
  runs,
  onRepeat,
  on,
}: {
  stage: Stage;
  visit: RecordState;
  runs: RecordState[];
  onRepeat: (() => void) | undefined;
  on: OnManifold | undefined;
}) {
  switch (stage.kind) {
    case "cautions":
      return <Later key="cautions" load={loadCautions} props={{ visit, permitOfSet: on?.permit }} />;
    case "identity":
      return <Later key="identity" load={loadIdentity} props={{ visit }} />;
    case "halt":
      return (
        <Later
          key={`stop ${stage.why} ${stampOf(visit, "identity")} ${stampOf(visit, "service")}`}
          load={loadBeforeStop}
          props={{ visit, runs, why: stage.why }}
        />
      );
    case "standard":
      return on?.first ? (
        <on.own.Same visit={visit} first={on.first} />
      ) : (
        <Later load={loadStandard} props={{ visit, alone: on === undefined }} />
      );
    case "service":
      return <Later key="service" load={loadService} props={{ visit }} />;
    case "surroundings":
      return <Later key="surroundings" load={loadSurroundings} props={{ visit }} />;
    case "begin":
      return on?.phase === "ready" && on.shared.length > 1 ? (
        <on.own.BeginAll on={on} />
      ) : (
        <Begin visit={visit} label={stage.label} />
      );
    case "run":
      return <Later key={stage.run.id} load={loadRunner} props={{ visit, run: stage.run, on }} />;
    case "adjusted":
      return <Later key="adjusted" load={loadAdjusted} props={{ visit, runs, run: stage.run, onRepeat }} />;
    case "bypasses":
      return <Later key="bypasses" load={loadBypasses} props={{ visit }} />;
    case "since":
      return (
        <Later
          key="since"
          load={loadSince}
          props={{ visit, failed: showDate(readField("visit", visit, "since").at) }}
        />
      );
    case "finish":
      return <Later key="finish" load={loadFinish} props={{ visit, runs, onRepeat }} />;
    case "done":
      return <Later key="done" load={loadDone} props={{ visit, runs, on }} />;
    default: {
      const never: never = stage;
      return never;
    }
  }
}

/** The stages before anything is under pressure: there a visit can end without a test. */
const early: Stage["kind"][] = ["cautions", "identity", "standard", "service", "surroundings", "begin"];

/**
 * VisitScreen leads through a visit. Its progress follows from the records alone, so that a reload
 * changes nothing.
 */
export function VisitScreen({ id }: { id: string }) {
  const visit = useRecord(id);
  const runs = useChildren(id);
  const ruled = useRules(visit, runs);
  if (visit === undefined || runs === undefined) return <p class="quiet">{words.shell.loading}</p>;
  if (visit === null)
    return <Later load={loadElsewhere} props={{ name: id, title: "", otherwise: visitWords.missing }} />;
  if (ruled === undefined) return <p class="quiet">{words.shell.loading}</p>;
  if (ruled === "fails") return <p role="alert">{visitWords.rulesFail}</p>;
  if (value(visit, "manifold") !== undefined)
    return (
      <Later
        load={loadTogether}
        props={{ opened: visit, show: (m, on) => <Ruled key={m.visit.id} {...m} on={on} /> }}
      />
    );
  return <Ruled {...ruled} />;
}

/**
 * Ruled shows a visit according to the rules. on has what its manifold asks for, if it is on one.
 */
function Ruled({ visit, runs, on }: { visit: RecordState; runs: RecordState[]; on?: OnManifold }) {
  const user = useLink().user;
  const [repeating, repeat] = useState(false);
  const [ending, end] = useState(false);
  const stage = stageOf(visit, runs);
  const place = stage.kind === "run" ? stage.run.id : stage.kind;
  useEffect(() => document.getElementById("content")?.scrollTo(0, 0), [place]); // a new screen begins at its top
  const once = runs.some(locked);
  const other = user?.role === "technician" && stage.kind !== "done" && !helping(visit, user.id);
  return (
    <div class="visit">
      {stage.kind === "run" ? null : (
        <p class="visit-where">
          <a href={`/instrument/${text(visit, "instrument")}`}>{readField("visit", visit, "item").tag}</a>
          <span>{readField("visit", visit, "method").name}</span>
        </p>
      )}
      {other ? (
        <Later key="join" load={loadJoin} props={{ visit, me: user.id }} />
      ) : repeating && !once && notTested(visit) === "" && stage.kind !== "run" ? (
        <Repeat visit={visit} onBack={() => repeat(false)} />
      ) : ending && early.includes(stage.kind) ? (
        <Later key="untested" load={loadUntested} props={{ visit, runs, onBack: () => end(false) }} />
      ) : (
        <>
          {on?.phase === "prepare" ? <on.own.Before on={on} /> : null}
          <Here stage={stage} visit={visit} runs={runs} onRepeat={once ? undefined : () => repeat(true)} on={on} />
        </>
      )}
      {early.includes(stage.kind) && !ending && !other ? (
        <div class="visit-foot">
          <Button kind="quiet" onClick={() => end(true)}>
            {visitWords.untested}
          </Button>
        </div>
      ) : null}
    </div>
  );
}
