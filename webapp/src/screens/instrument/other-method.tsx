import { useEffect, useState } from "preact/hooks";
import { call } from "../../calc/calc";
import { Button } from "../../parts/button";
import { Cover } from "../../parts/cover";
import { Choice, Field } from "../../parts/field";
import { Complaint, useKeep } from "../../nav/keep";
import { fittingAsked, kindOf, named } from "../../records/give";
import { instrumentFor } from "../../records/item";
import { byKind } from "../../store/store";
import { asNumber, object, type RecordState, text, value } from "../../wire/records";
import { otherMethodWords as w } from "../../words/other-method";
import { sentence, words } from "../../words/words";

/** The approved methods of an instrument's kind: those that suit it, and the others with the reason. */
type Offered = { suits: RecordState[]; refused: { method: RecordState; why: string }[] };

/** offer tries every approved method of an instrument's kind but the usual one on it. */
async function offer(instrument: RecordState, usual: string): Promise<Offered> {
  const methods = await byKind("method");
  const ofKind = await call("fitting", fittingAsked(methods, [text(instrument, "kind")]));
  const it = { id: instrument.id, instrument: await instrumentFor(instrument) };
  const offered: Offered = { suits: [], refused: [] };
  for (const method of named(methods, ofKind.methods)) {
    if (method.id === usual) continue;
    const tried = await call("suitable", { method: object(method, "definition"), instruments: [it] });
    const why = tried.refused[0]?.text;
    if (why === undefined) offered.suits.push(method);
    else offered.refused.push({ method, why });
  }
  return offered;
}

const nameOf = (m: RecordState) =>
  [text(m, "name"), kindOf(m) === "programme" ? w.programme : "", w.version(asNumber(value(m, "version")) ?? 1)]
    .filter(Boolean)
    .join(", ");

type OtherMethodProps = {
  instrument: RecordState;
  /** The method that the visit would begin with. */
  usual: string;
  onStart: (method: string, reason: string) => Promise<void>;
  onClose: () => void;
};

/**
 * OtherMethod begins a visit by a method that is not the one set for the instrument or its stop.
 * The reason is kept with the method, so that the signature covers it.
 */
export function OtherMethod({ instrument, usual, onStart, onClose }: OtherMethodProps) {
  const [offered, set] = useState<Offered | undefined>();
  const [chosen, choose] = useState<string | undefined>();
  const [reason, setReason] = useState("");
  const k = useKeep();
  useEffect(() => {
    let here = true;
    offer(instrument, usual).then(
      (o) => here && set(o),
      (e: unknown) => {
        console.error(e);
        if (here) k.say(words.shell.storeBroken);
      },
    );
    return () => {
      here = false;
    };
  }, [instrument, usual]);
  const go = () => {
    if (chosen === undefined) return k.say(w.needMethod);
    if (reason.trim() === "") return k.say(w.needReason);
    k.keep(() => onStart(chosen, reason.trim()));
  };
  const { suits, refused } = offered ?? { suits: [], refused: [] };
  return (
    <Cover title={w.title} onClose={onClose}>
      <p>{w.about}</p>
      {offered === undefined ? (
        <p role="status">{w.looking}</p>
      ) : suits.length === 0 ? (
        <p role="status">{w.none}</p>
      ) : (
        <Choice
          label={w.choose}
          value={chosen}
          onChange={choose}
          options={suits.map((m) => [m.id, nameOf(m)] as const)}
        />
      )}
      {refused.length === 0 ? null : (
        <details class="opened">
          <summary>{w.unsuitable(refused.length)}</summary>
          <ul>
            {refused.map(({ method, why }) => (
              <li key={method.id}>
                <strong>{nameOf(method)}</strong>: {sentence(why)}
              </li>
            ))}
          </ul>
        </details>
      )}
      <Field label={w.reason} hint={w.reasonHint} value={reason} onInput={setReason} lines={2} />
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy || suits.length === 0} onClick={go}>
        {w.start}
      </Button>
    </Cover>
  );
}
