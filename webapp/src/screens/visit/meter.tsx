import { useEffect, useState } from "preact/hooks";
import { type Beside, type Candidate, candidatesFor } from "../../records/candidates";
import type { RecordState } from "../../wire/records";
import { asText } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { said } from "../../views/objections";
import { showRange } from "../../records/facts";
import { showDate } from "../../words/words";
import { text } from "../../wire/records";

const w = visitWords.standard;

/**
 * ChooseBeside lists what can read a transmitter's signal, or measure the air beside a
 * gauge-pressure standard, the best first and chosen. Without a meter its part of the uncertainty
 * is missing; a barometer is required.
 */
export function ChooseBeside({
  as,
  visit,
  standards,
  onChoose,
}: {
  as: Beside;
  visit: RecordState;
  standards: RecordState[];
  onChoose: (c: Candidate | undefined) => void;
}) {
  const [list, setList] = useState<Candidate[]>([]);
  const [chosen, choose] = useState<Candidate | undefined>();
  const pick = (c: Candidate | undefined) => {
    choose(c);
    onChoose(c);
  };
  useEffect(() => {
    let here = true;
    candidatesFor(visit, standards, new Date().toISOString().slice(0, 10), as).then(
      ({ list }) => {
        if (!here) return;
        setList(list);
        pick(list.find((c) => c.objections.length === 0));
      },
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
    };
  }, [standards]);
  return (
    <section aria-label={w[as]}>
      <h2>{w[as]}</h2>
      <p class="small quiet">{as === "meter" ? w.meterHint : w.barometerHint}</p>
      <ul class="ticks standards">
        {list.map((c) => (
          <li key={`${c.standard.id} ${c.index}`}>
            <label>
              <input type="radio" name={as} checked={c === chosen} onChange={() => pick(c)} />
              <span>
                <strong>{text(c.standard, "name")}</strong> {text(c.standard, "serial")}
                <br />
                {showRange(c.original)}{" "}
                <span class="quiet">{text(c.standard, "due") ? w.due(showDate(text(c.standard, "due"))) : ""}</span>
                {c.objections.map((o) => (
                  <span key={o.code} class="why">
                    {said(o, asText(c.range["unit"]))}
                  </span>
                ))}
              </span>
            </label>
          </li>
        ))}
        {as === "barometer" ? null : (
          <li>
            <label>
              <input type="radio" name={as} checked={chosen === undefined} onChange={() => pick(undefined)} />
              <span>{w.noMeter}</span>
            </label>
          </li>
        )}
      </ul>
    </section>
  );
}
