import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Complaint, put, useKeep } from "../../nav/keep";
import { type Candidate, usedOf } from "../../records/candidates";
import { showRange } from "../../records/facts";
import { useRecord } from "../../store/hooks";
import { readField } from "../../wire/read";
import { asText, type RecordState, text, value } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { showTime, words } from "../../words/words";
import { lastChoice } from "./last";
import { airAsLast, airOf, airShown, type Typed } from "./surroundings";

const w = visitWords.asLast;

/** What a visit has of its own as soon as one of these is there, corrections among them. */
const begun = ["standard", "surroundings", "barometer", "signature"];

/**
 * lastAir gives the air that was typed at the last stop, where a visit that begins may take it as
 * it is: not where anything of it was given already.
 */
export function lastAir(visit: RecordState): Typed | undefined {
  if (begun.some((f) => value(visit, f) !== undefined)) return undefined;
  const typed = airAsLast();
  return (typed["temperature_c"] ?? "") === "" ? undefined : typed;
}

type AsLastProps = { visit: RecordState; standard: Candidate; air: Typed; onOther: () => void };

/**
 * AsLast offers the standard and the air of the last stop for this one, to be taken in one tap;
 * everything else is behind a button.
 */
export function AsLast({ visit, standard, air, onOther }: AsLastProps) {
  const site = useRecord(visit.site);
  const [wrong, setWrong] = useState<string | undefined>();
  const k = useKeep();
  const go = () =>
    k.keep(async () => {
      setWrong(undefined);
      const said = await airOf(visit, air, site);
      if ("error" in said) return setWrong(said.error);
      await put(visit, { standard: await usedOf(standard, ""), ...said.fields });
    });
  const level = readField("visit", visit, "item").range.mode !== "differential";
  return (
    <>
      <h1>{w.title(showTime(asText(lastChoice("surroundings", 12)?.["at"])))}</h1>
      <dl class="facts">
        <dt>{w.method}</dt>
        <dd>{readField("visit", visit, "method").name}</dd>
        <dt>{visitWords.standard.title}</dt>
        <dd>
          <strong>{text(standard.standard, "name")}</strong> {text(standard.standard, "serial")}
          <br />
          {showRange(standard.original)}
        </dd>
        <dt>{w.air}</dt>
        <dd>{airShown(air)}</dd>
        {level ? (
          <>
            <dt>{w.height}</dt>
            <dd>{w.level}</dd>
          </>
        ) : null}
      </dl>
      <p>{w.holds}</p>
      <Complaint error={k.error ?? wrong} />
      <Button kind="main" size="tall" wide disabled={k.busy || site === undefined} onClick={go}>
        {site === undefined ? words.shell.loading : w.use}
      </Button>
      <div class="buttons">
        <Button size="tall" onClick={onOther}>
          {w.other}
        </Button>
      </div>
    </>
  );
}
