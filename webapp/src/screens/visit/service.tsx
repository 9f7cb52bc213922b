import { readField } from "../../wire/read";
import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { Complaint, put, useKeep } from "../../nav/keep";
import { rulesOf } from "../../records/rules";
import type { Json, RecordState } from "../../wire/records";
import { stopWords } from "../../words/stops";
import { visitWords } from "../../words/visit";
import { useDraft } from "./draft";

const w = stopWords.service;
type Answers = { [question: string]: "yes" | "no" };

/**
 * Service asks what the medium and the place of an instrument require before the first pressure.
 * The answer no stops the work.
 */
export function Service({ visit, again = false }: { visit: RecordState; again?: boolean }) {
  const asked = rulesOf(visit).service;
  const { name } = readField("visit", visit, "standard").snapshot;
  const [answers, answer] = useState<Answers>({});
  const [right, setRight] = useDraft(`${visit.id} service put right`);
  const k = useKeep();
  const go = () => {
    const open = asked.find((q) => answers[q] === undefined);
    if (open !== undefined) return k.say(`${w.title[open]}: ${w.choose}`);
    if (again && right.trim() === "") return k.say(stopWords.needPutRight);
    const said: { [name: string]: Json } = { ...answers, at: new Date().toISOString() };
    k.keep(() => put(visit, { service: again ? { ...said, put_right: right.trim() } : said }));
  };
  return (
    <>
      {asked.map((q) => (
        <section key={q}>
          <h1>{w.title[q]}</h1>
          <p class="instruction">{w.ask[q]}</p>
          {q === "oxygen" && name !== "" ? <p class="quiet">{name}</p> : null}
          <Choice
            label={`${w.title[q]}: ${w.holds}`}
            value={answers[q]}
            onChange={(a) => answer({ ...answers, [q]: a })}
            options={[
              ["yes", visitWords.run.yes],
              ["no", visitWords.run.no],
            ]}
          />
        </section>
      ))}
      <p class="small quiet">{w.law}</p>
      {again ? <Field label={stopWords.putRight} value={right} onInput={setRight} lines={2} /> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {visitWords.next}
      </Button>
    </>
  );
}
