import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Complaint, put, useKeep } from "../../nav/keep";
import { type Beside, type Candidate, candidatesFor, type Found, usedOf } from "../../records/candidates";
import { showRange } from "../../records/facts";
import { askRules } from "../../records/rules";
import { useRecord } from "../../store/hooks";
import { record } from "../../store/store";
import { readField } from "../../wire/read";
import { asText, type Json, type RecordState, text, value } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { showDate, showTime, words } from "../../words/words";
import { beginRun } from "./begin";
import { Connect } from "./connect";
import { useDraft } from "./draft";
import { lastChoice, rememberLast } from "./last";
import { AirFields, airAsLast, airOf, airShown, airToRemember, hasColumn, parsed } from "./surroundings";

const w = visitWords.setUp;

/** A visit with one of these has been set up, also if it was corrected. */
const begun = ["standard", "surroundings", "barometer", "signature"];

/**
 * isFresh says that nothing was chosen for a visit yet, so that the suitable choice is offered at
 * once.
 */
export const isFresh = (visit: RecordState): boolean => begun.every((f) => value(visit, f) === undefined);

/** useBeside finds the best meter or barometer; null if none is suitable, undefined until known. */
function useBeside(visit: RecordState, standards: RecordState[], as: Beside, wanted: boolean) {
  const [best, set] = useState<Candidate | null | undefined>();
  useEffect(() => {
    if (!wanted) return;
    let here = true;
    candidatesFor(visit, standards, new Date().toISOString().slice(0, 10), as).then(
      ({ list }) => here && set(list.find((c) => c.objections.length === 0) ?? null),
      (e: unknown) => {
        console.error(e);
        if (here) set(null);
      },
    );
    return () => {
      here = false;
    };
  }, [standards, wanted]);
  return wanted ? best : null;
}

/** Row is one line of what will be used, with a button to change it. */
function Row({ name, onChange, children }: { name: string; onChange: () => void; children: ComponentChildren }) {
  return (
    <>
      <dt>{name}</dt>
      <dd>
        <span>{children}</span>
        <Button kind="quiet" label={w.changeOf(name)} onClick={onChange}>
          {w.change}
        </Button>
      </dd>
    </>
  );
}

/** Chosen names a standard with its range and the date it is due. */
function Chosen({ of: c }: { of: Candidate }) {
  const due = text(c.standard, "due");
  return (
    <>
      <strong>{text(c.standard, "name")}</strong> {text(c.standard, "serial")}
      <br />
      <span class="small quiet">
        {showRange(c.original)}
        {due === "" ? "" : ` · ${visitWords.standard.due(showDate(due))}`}
      </span>
    </>
  );
}

type SetUpProps = {
  visit: RecordState;
  found: Found;
  /** The best suitable one, or the one of the last stop. */
  standard: Candidate;
  standards: RecordState[];
  /** Its run may begin at once: it shares no manifold. */
  alone: boolean;
  /** The choice of another standard. */
  onOther: () => void;
};

/**
 * SetUp states on one screen what a visit will use: the most suitable standard, the device read
 * beside it, the air and the height, from the last stop if they are known. One button begins; each
 * line can be changed.
 */
export function SetUp({ visit, found, standard, standards, alone, onOther }: SetUpProps) {
  const site = useRecord(visit.site);
  const method = readField("visit", visit, "method");
  const meter = useBeside(visit, standards, "meter", found.meter);
  const barometer = useBeside(visit, standards, "barometer", standard.barometer);
  const [last] = useState(() => lastChoice("surroundings", 12));
  const [draft, setDraft] = useDraft(`${visit.id} surroundings`, JSON.stringify(airAsLast(last)));
  const [wrong, setWrong] = useState<{ field: string; error: string } | undefined>();
  const k = useKeep();
  const typed = parsed(draft);
  const asLast = airAsLast(last);
  // The last stop did not have these, so they are typed here.
  const open = ["temperature_c", ...(standard.barometer ? ["pressure_hpa"] : [])].filter(
    (f) => (asLast[f] ?? "") === "",
  );
  const unserved = (found.meter && meter === null) || (standard.barometer && barometer === null);
  useEffect(() => {
    if (unserved) onOther();
  }, [unserved]);
  const waiting = site === undefined || meter === undefined || barometer === undefined || unserved;
  /** used writes the devices of the measurement. */
  const used = async (): Promise<{ [name: string]: Json }> => {
    rememberLast("standard", { key: `${standard.standard.id} ${standard.index}` });
    return {
      standard: await usedOf(standard, ""),
      ...(meter ? { meter: await usedOf(meter, "") } : {}),
      ...(barometer ? { barometer: await usedOf(barometer, "") } : {}),
    };
  };
  const go = () =>
    k.keep(async () => {
      const said = await airOf(visit, typed, site, standard.barometer);
      setWrong("error" in said ? said : undefined);
      if ("error" in said) return;
      await put(visit, { ...(await used()), ...said.fields });
      rememberLast("surroundings", airToRemember(typed));
      setDraft("");
      const now = await record(visit.id);
      if (!alone || !now) return;
      const { stage } = await askRules(now, []);
      if (stage.kind === "begin" && stage.label === "as found") await beginRun(now, "as found");
    });
  const changeAir = () => k.keep(async () => put(visit, await used()));
  const shown = airShown(typed);
  return (
    <>
      <h1>{w.title}</h1>
      <dl class="facts set-up">
        <dt>{w.method}</dt>
        <dd>
          <span>
            {method.name}
            {method.reason === "" ? null : (
              <span class="small quiet">
                <br />
                {method.reason}
              </span>
            )}
          </span>
        </dd>
        <Row name={visitWords.standard.title} onChange={onOther}>
          <Chosen of={standard} />
        </Row>
        {meter ? (
          <Row name={visitWords.standard.meter} onChange={onOther}>
            <Chosen of={meter} />
          </Row>
        ) : null}
        {barometer ? (
          <Row name={visitWords.standard.barometer} onChange={onOther}>
            <Chosen of={barometer} />
          </Row>
        ) : null}
        <Row name={w.air} onChange={changeAir}>
          {shown === "" ? w.airBelow : shown}
          {last && open.length === 0 ? (
            <span class="small quiet">
              <br />
              {w.asLast(showTime(asText(last["at"])))}
            </span>
          ) : null}
        </Row>
        {hasColumn(visit) ? (
          <Row name={w.height} onChange={changeAir}>
            {w.level}
          </Row>
        ) : null}
      </dl>
      <AirFields of={open} typed={typed} wrong={wrong} onType={(t) => setDraft(JSON.stringify(t))} />
      <Connect visit={visit} />
      <p class="small">
        {w.check} {visitWords.run.startHint}
      </p>
      <Complaint error={k.error ?? (wrong && !open.includes(wrong.field) ? wrong.error : undefined)} />
      <Button kind="main" size="tall" wide disabled={k.busy || waiting} onClick={go}>
        {waiting ? words.shell.loading : alone ? w.begin : w.use}
      </Button>
    </>
  );
}
