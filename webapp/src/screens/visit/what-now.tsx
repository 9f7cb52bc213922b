import { useEffect, useState } from "preact/hooks";
import { CalcError } from "../../calc/calc";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { asText, type Json, type RecordState, text } from "../../wire/records";
import { afterWords as w } from "../../words/after";
import { beginRun } from "./begin";
import { useDraft } from "./draft";
import { Complaint, put, useKeep } from "../../nav/keep";
import { type After, afterOf } from "../../records/after";
import { localDay } from "../../records/stops";

type Doc = { [name: string]: Json };

/**
 * useAfter works out what follows from a visit's results and the answers about them. The last
 * answer stays visible while the next one is worked out; current says that it is of the present
 * visit.
 */
export function useAfter(visit: RecordState, runs: RecordState[]): { after: After | undefined; current: boolean } {
  const [known, set] = useState<{ visit: RecordState; runs: RecordState[]; after: After } | undefined>();
  useEffect(() => {
    let here = true;
    afterOf(visit, runs).then(
      (after) => here && set({ visit, runs, after }),
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
    };
  }, [visit, runs]);
  return { after: known?.after, current: known?.visit === visit && known.runs === runs };
}

/**
 * WhatNow asks what happens to an instrument whose result failed. Nothing continues until that is
 * answered. While an answer is being saved, onKeeping has the visit as it was when it was given.
 */
export function WhatNow({
  visit,
  runs,
  after,
  onKeeping = () => {},
}: {
  visit: RecordState;
  runs: RecordState[];
  after: After;
  onKeeping?: (of: RecordState | undefined) => void;
}) {
  const [way, choose] = useState<string | undefined>();
  const [note, setNote] = useDraft(`${visit.id} adjusted`);
  const [serial, setSerial] = useDraft(`${visit.id} new serial`);
  const [by, setBy] = useDraft(`${visit.id} decided by`);
  const [until, setUntil] = useDraft(`${visit.id} until`);
  const [why, setWhy] = useDraft(`${visit.id} why it stays`);
  const [code, setCode] = useState<string | undefined>();
  const [wrong, setWrong] = useDraft(`${visit.id} what is wrong`);
  const k = useKeep();
  const keep = (work: () => Promise<void>) =>
    k.keep(async () => {
      onKeeping(visit);
      try {
        await work();
      } catch (e) {
        onKeeping(undefined);
        throw e;
      }
    });
  const leftBefore = runs.some((r) => text(r, "label") === "as left");
  const said: { [way: string]: Doc } = {
    replaced: { serial: serial.trim() },
    left_in_service: { by: by.trim(), until, reason: why.trim() },
    taken_out: { code: code ?? "", reason: wrong.trim() },
  };
  const needs: { [way: string]: [string, string][] } = {
    adjust: [[note, w.adjustNeeded]],
    replaced: [[serial, w.serialNeeded]],
    left_in_service: [
      [by, w.byNeeded],
      [until, w.untilNeeded],
      [why, w.whyNeeded],
    ],
    taken_out: [
      [code ?? "", w.codeNeeded],
      [wrong, w.wrongNeeded],
    ],
  };
  const go = () => {
    if (way === undefined) return k.say(w.choose);
    const open = needs[way]?.find(([typed]) => typed.trim() === "");
    if (open) return k.say(open[1]);
    if (way === "adjust")
      return keep(async () => {
        await put(visit, { adjusted: { done: true, note: note.trim() }, disposition: {} });
        if (leftBefore) await beginRun(visit, "as left");
      });
    const disposition: Doc = { way, ...said[way], at: new Date().toISOString() };
    keep(async () => {
      try {
        await afterOf(visit, runs, disposition, localDay(new Date()));
      } catch (e) {
        if (!(e instanceof CalcError)) throw e;
        onKeeping(undefined);
        return k.say(`${w.until}: ${e.message}.`);
      }
      await put(visit, { ...(leftBefore ? {} : { adjusted: { done: false, note: "" } }), disposition });
    });
  };
  return (
    <section class="halt-sign" aria-label={w.failed}>
      <h2>{after.safety ? w.failedSafety : w.failed}</h2>
      <Choice
        label={w.way}
        value={way}
        onChange={choose}
        options={after.ways.map((x) => [x, x === "adjust" && leftBefore ? w.again : (w.ways[x] ?? x)] as const)}
      />
      {way === "adjust" ? <Field label={w.adjustNote} value={note} onInput={setNote} lines={2} /> : null}
      {way === "replaced" ? <Field label={w.serial} value={serial} onInput={setSerial} /> : null}
      {way === "left_in_service" ? (
        <>
          <Field label={w.by} value={by} onInput={setBy} />
          <Field label={w.until} type="date" value={until} onInput={setUntil} />
          <Field label={w.why} value={why} onInput={setWhy} lines={2} />
        </>
      ) : null}
      {way === "taken_out" ? (
        <>
          <Choice label={w.code} value={code} onChange={setCode} options={Object.entries(w.codes)} />
          <Field label={w.wrong} value={wrong} onInput={setWrong} lines={2} />
        </>
      ) : null}
      {way === "left_in_service" || way === "taken_out" ? <p class="small">{w.local}</p> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={way === undefined || k.busy} onClick={go}>
        {w.keep}
      </Button>
    </section>
  );
}

/**
 * SinceFailure asks what was done to a safety function since it failed: the test is as left, not as
 * found again.
 */
export function SinceFailure({ visit, failed }: { visit: RecordState; failed: string }) {
  const [note, setNote] = useDraft(`${visit.id} since`);
  const k = useKeep();
  const go = () =>
    note.trim() === ""
      ? k.say(w.since.needed)
      : k.keep(() => put(visit, { adjusted: { done: true, note: note.trim() } }));
  return (
    <>
      <h1>{w.since.title}</h1>
      <p class="instruction">{w.since.said(failed)}</p>
      <Field label={w.since.done} value={note} onInput={setNote} lines={2} />
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {w.keep}
      </Button>
    </>
  );
}

export const wayOf = (said: Doc): string => asText(said["way"]);
