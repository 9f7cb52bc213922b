import { readField } from "../../wire/read";
import type { ComponentChildren } from "preact";
import { cautionWords } from "../../words/cautions";
import { useEffect, useRef, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { asText, type Json, newId, object, type RecordState } from "../../wire/records";
import { stopWords as w } from "../../words/stops";
import { visitWords } from "../../words/visit";
import { endUntested } from "./closing";
import { useDraft } from "./draft";
import { Complaint, put, useKeep } from "../../nav/keep";
import type { Entry, Halted, Step } from "../../records/run";
import { rulesOf } from "../../records/rules";
import { Service } from "./service";
import { Cautions, Identity } from "./start";

/** Sign says in the largest letters what not to do, and how to make it safe. */
function Sign({
  title,
  said,
  children,
  safe,
}: {
  title: string;
  said: string;
  children?: ComponentChildren;
  safe: string[];
}) {
  return (
    <div class="halt-sign" role="alert">
      <h1>{title}</h1>
      {said === "" ? null : (
        <p class="small">
          <strong>{said}</strong>
        </p>
      )}
      {children}
      <h2>{w.safe}</h2>
      {safe.map((how) => (
        <p key={how} class="instruction">
          {how}
        </p>
      ))}
    </div>
  );
}

type EndProps = {
  visit: RecordState;
  runs: RecordState[];
  why: string;
  tag: boolean;
  first: string;
  onBack: (() => void) | undefined;
};

/** End asks why it cannot be tested, once nothing is under pressure. */
function End({ visit, runs, why, tag, first, onBack }: EndProps) {
  const [reason, setReason] = useDraft(`${visit.id} not tested`, first);
  const [ticked, tick] = useState<string[]>([]);
  const k = useKeep();
  const needed = [w.vented, ...(tag ? [w.tagged] : [])];
  const go = () => {
    if (reason.trim() === "") return k.say(w.needWhy);
    k.keep(() => endUntested(visit, runs, why, reason.trim()));
  };
  return (
    <>
      <div class="ticks">
        {needed.map((n) => (
          <label key={n}>
            <input
              type="checkbox"
              checked={ticked.includes(n)}
              onChange={() => tick(ticked.includes(n) ? ticked.filter((t) => t !== n) : [...ticked, n])}
            />
            <span>{n}</span>
          </label>
        ))}
      </div>
      <Field label={w.why} value={reason} onInput={setReason} lines={2} />
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={ticked.length < needed.length || k.busy} onClick={go}>
        {w.end}
      </Button>
      {onBack ? (
        <div class="visit-foot">
          <Button kind="quiet" onClick={onBack}>
            {w.back}
          </Button>
        </div>
      ) : null}
    </>
  );
}

/**
 * Opened scrolls what a tap opened into view and puts the cursor into it: below a long stop it
 * would be out of sight.
 */
function Opened({ children }: { children: ComponentChildren }) {
  const here = useRef<HTMLDivElement>(null);
  useEffect(() => {
    here.current?.scrollIntoView({ block: "start" });
    here.current?.querySelector<HTMLElement>("textarea, input")?.focus({ preventScroll: true });
  }, []);
  return (
    <div class="halt-opened" ref={here}>
      {children}
    </div>
  );
}

type Way = "again" | "end" | undefined;

/** Ways offers to correct the answer, or to end here. */
function Ways({ again, onWay }: { again: string; onWay: (way: Way) => void }) {
  return (
    <div class="halt-ways">
      <Button kind="main" size="tall" wide onClick={() => onWay("again")}>
        {again}
      </Button>
      <Button size="tall" wide onClick={() => onWay("end")}>
        {w.end}
      </Button>
    </div>
  );
}

/**
 * SafetyStop replaces a run whose safety question was not answered with yes: no step follows until
 * it is.
 */
export function SafetyStop({
  visit,
  run,
  step,
  entry,
}: {
  visit: RecordState;
  run: RecordState;
  step: Step;
  entry: Entry;
}) {
  const [way, go] = useState<Way>();
  const [reason, setReason] = useDraft(`${run.id} ${step.id} put right`);
  const k = useKeep();
  const back = () => go(undefined);
  const yes = () => {
    if (reason.trim() === "") return k.say(w.needPutRight);
    const capture: { [name: string]: Json } = {
      step: step.id,
      of: "answer",
      value: "yes",
      unit: "",
      at: new Date().toISOString(),
      supersedes: entry.id,
      reason: reason.trim(),
    };
    k.keep(() => put(run, { [`capture.${newId()}`]: capture }));
  };
  return (
    <section class="halt">
      <Sign title={w.title} said={w.said} safe={[step.makeSafe]}>
        <p class="instruction">{step.text}</p>
      </Sign>
      {way === undefined ? <Ways again={w.again} onWay={go} /> : null}
      {way === "again" ? (
        <Opened>
          <h2>{w.again}</h2>
          <Field label={w.putRight} value={reason} onInput={setReason} lines={2} />
          <p class="instruction">{step.text}</p>
          <Complaint error={k.error} />
          <div class="buttons">
            <Button size="tall" disabled={k.busy} onClick={back}>
              {visitWords.run.no}
            </Button>
            <Button kind="main" size="tall" disabled={k.busy} onClick={yes}>
              {visitWords.run.yes}
            </Button>
          </div>
        </Opened>
      ) : null}
      {way === "end" ? <End visit={visit} runs={[run]} why="safety" tag={false} first="" onBack={back} /> : null}
    </section>
  );
}

/**
 * BeforeStop replaces everything that would follow if something was found that forbids pressure.
 */
export function BeforeStop({ visit, runs, why }: { visit: RecordState; runs: RecordState[]; why: Halted }) {
  const [way, go] = useState<Way>();
  const back = () => go(undefined);
  const identity = readField("visit", visit, "identity");
  const seen =
    why === "damaged" ? readField("visit", visit, "condition").note : why === "identity" ? identity.note : "";
  const answers = object(visit, "service");
  const inService = why === "oxygen" || why === "air";
  const refused = inService ? rulesOf(visit).service.filter((q) => asText(answers[q]) === "no") : [];
  const safe = why === "identity" ? (identity.way === "exchanged" ? w.exchanged : w.wrong) : w[why];
  const open = readField("visit", visit, "cautions").open;
  const unmet = why === "cautions" && Array.isArray(open) ? open.map(asText) : [];
  return (
    <section class="halt">
      <Sign
        title={why === "damaged" ? w.damagedTitle : w.title}
        said={inService ? w.said : unmet.length > 0 ? w.notMet : seen === "" ? "" : w.seen}
        safe={inService ? refused.map((q) => w[q]) : [safe]}
      >
        {refused.map((q) => (
          <p key={q} class="instruction">
            {w.service.ask[q]}
          </p>
        ))}
        {seen === "" ? null : <p class="instruction">{seen}</p>}
        {unmet.map((c) => (
          <p key={c}>{cautionWords.codes[c] ?? c.replaceAll("_", " ")}</p>
        ))}
      </Sign>
      {why === "damaged" ? (
        <End visit={visit} runs={runs} why={why} tag first={seen} onBack={undefined} />
      ) : way === undefined ? (
        <Ways again={why === "identity" ? w.compare : w.again} onWay={go} />
      ) : way === "end" ? (
        <End visit={visit} runs={runs} why={why} tag={false} first={seen} onBack={back} />
      ) : (
        <Opened>
          {why === "identity" ? (
            <Identity visit={visit} again />
          ) : inService ? (
            <Service visit={visit} again />
          ) : (
            <Cautions visit={visit} again />
          )}
          <div class="visit-foot">
            <Button kind="quiet" onClick={back}>
              {w.back}
            </Button>
          </div>
        </Opened>
      )}
    </section>
  );
}

type ConnectedProps = {
  message: string;
  /** A pressure beyond the range was there; otherwise nothing seems to be connected. */
  over: boolean;
  reason: string;
  setReason: (text: string) => void;
  busy: boolean;
  error: string | undefined;
  onLook: () => void;
  onRight: () => void;
};

/**
 * Connected stops a run with several readings in a row that are far off, or one beyond the range,
 * before the last of them is kept.
 */
export function Connected({ message, over, reason, setReason, busy, error, onLook, onRight }: ConnectedProps) {
  return (
    <section class="halt over">
      <Sign title={over ? w.overTitle : w.connectedTitle} said="" safe={[over ? w.over : w.connected]}>
        <p class="instruction">{/[.?!]$/.test(message) ? message : `${message}.`}</p>
      </Sign>
      <Button kind="main" size="tall" wide onClick={onLook}>
        {w.look}
      </Button>
      <Field label={w.reason} value={reason} onInput={setReason} lines={2} />
      <Complaint error={error} />
      <Button size="tall" wide disabled={busy} onClick={onRight}>
        {over ? w.overLooked : w.right}
      </Button>
    </section>
  );
}
