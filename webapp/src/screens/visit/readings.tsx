import { useEffect, useState } from "preact/hooks";
import { isFailed, isVerdict, Mark } from "../../parts/mark";
import { asObject, asText, type RecordState } from "../../wire/records";
import { figureWords } from "../../words/figures";
import { visitWords } from "../../words/visit";
import { errorIn, useFigures } from "../../nav/use-figures";
import { amount, nameOf } from "../../views/instruct";
import { type Entry, effective, type Step } from "../../records/run";
import { evaluate, type Reading, readingsOf } from "../../records/sheet";

const w = visitWords.run;

/** recordName names the logger's file that replaces values. */
export function recordName(e: Entry): string {
  const file = asObject(e.file);
  return visitWords.record(asText(file["name"]), asText(file["rows"]));
}

/** recorded writes what was recorded, short. */
function recorded(step: Step, e: Entry): string {
  if (e.of === "answer" && step.as === "photo") return visitWords.finish.photoKept;
  if (e.of === "trace") return recordName(e);
  return e.typed === "" ? amount(e.value, e.unit) : w.typedAs(amount(e.value, e.unit), e.typed);
}

type Row = { step: Step; entries: Entry[] };

/** rowsOf puts what was recorded in the order of the plan, one row per step. */
function rowsOf(steps: Step[], entries: Entry[]): Row[] {
  return steps.flatMap((step) => {
    const mine = entries.filter((e) => e.step === step.id);
    return mine.length === 0 ? [] : [{ step, entries: mine }];
  });
}

type Props = { visit: RecordState; run: RecordState; steps: Step[]; onCorrect: (e: Entry) => void };

/** Readings lists everything that was recorded in a run. A tap on a value corrects it. */
export function Readings({ visit, run, steps, onCorrect }: Props) {
  const entries = effective(run);
  const [found, set] = useState<Reading[]>([]);
  useEffect(() => {
    let here = true;
    evaluate(visit, entries, false).then(
      (f) => here && set(readingsOf(f)),
      (e: unknown) => console.error(e), // the values are shown without their meaning
    );
    return () => {
      here = false;
    };
  }, [run]);
  const figures = useFigures(found.map(errorIn));
  return (
    <>
      <p class="quiet small">{w.tapCell}</p>
      <div class="values">
        <table class="before">
          <tbody>
            {rowsOf(steps, entries).map(({ step, entries: mine }) => {
              const at = found.findIndex((one) => one.step === step.id);
              const r = found[at];
              const failed = isFailed(r?.verdict);
              return (
                <tr key={step.id} class={failed ? "failed" : ""}>
                  <th scope="row">{nameOf(step)}</th>
                  <td>
                    {mine.map((e) => {
                      const of = figureWords.ofsShort[e.of === "applied" && step.of === "applied" ? "" : e.of];
                      const shown = recorded(step, e);
                      return (
                        <button
                          key={e.id}
                          type="button"
                          class="cell"
                          aria-label={`${w.correct}: ${nameOf(step)}${of ? `, ${of}` : ""} ${shown}`}
                          onClick={() => onCorrect(e)}
                        >
                          {of ? <span class="small">{of}</span> : null} {shown}
                          {e.earlier.length === 0 ? null : (
                            <span class="small">
                              {" "}
                              {e.earlier.map((x) => w.was(amount(x.value, x.unit))).join(", ")}
                            </span>
                          )}
                        </button>
                      );
                    })}
                  </td>
                  <td>
                    {r ? (
                      <>
                        {isVerdict(r.verdict) ? <Mark verdict={r.verdict} /> : null}
                        <span class="small">{` ${figures[at]?.value ?? ""}`}</span>
                      </>
                    ) : null}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
    </>
  );
}
