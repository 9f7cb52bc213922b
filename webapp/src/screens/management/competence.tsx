import { useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { Field } from "../../parts/field";
import { useLink } from "../../nav/status";
import { deskWords } from "../../words/desk";
import { methodsWords } from "../../words/methods";
import { peopleWords } from "../../words/people";
import { showDate } from "../../words/words";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { localDay } from "../../records/stops";
import { Pick } from "./pick";

const w = deskWords.people;

type Has = {
  id: string;
  kind: string;
  may: string[];
  from: string;
  until: string;
  evidence: string;
  state: string;
};
type Person = { id: string; name: string; role: string; access: boolean; has: Has[] };

const kindOf = (kind: string) => (kind === "" ? w.every : (methodsWords.kinds[kind] ?? kind));

/**
 * CompetenceScreen lists who may do what until when, with the evidence. An administrator changes
 * it.
 */
export function CompetenceScreen() {
  const asked = useAsk<{ people: Person[] }>("/api/office/competences");
  const administrator = useLink().user?.role === "administrator";
  const [adding, add] = useState(false);
  const d = useDoing();
  const people = asked.reply?.people ?? [];
  const withdraw = (p: Person, h: Has) =>
    d.run(async () => {
      await ask(`/api/users/${encodeURIComponent(p.id)}/competences/${h.id}`, { method: "DELETE" });
      asked.again();
    });
  return (
    <div class="desk-page">
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      <Complaint error={d.error} />
      {adding ? (
        <Enter
          people={people}
          onDone={() => {
            add(false);
            asked.again();
          }}
        />
      ) : administrator ? (
        <Button onClick={() => add(true)}>{w.add}</Button>
      ) : (
        <p class="small quiet">{w.adminOnly}</p>
      )}
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard */}
      <section class="wide-table" tabIndex={0} aria-label={w.title}>
        <table class="visits-table">
          <thead>
            <tr>
              {[w.person, w.kind, w.mayTitle, w.from, w.until, w.evidence, w.state].map((h) => (
                <th key={h} scope="col">
                  {h}
                </th>
              ))}
              <td />
            </tr>
          </thead>
          <tbody>
            {people.flatMap((p) =>
              (p.has.length === 0 ? [undefined] : p.has).map((h, i) => (
                <tr key={`${p.id} ${h?.id ?? ""}`} class={p.access ? "" : "gone"}>
                  <th scope="row">
                    {i === 0 ? p.name : ""}
                    {i === 0 ? (
                      <span class="small quiet"> {p.access ? (peopleWords.roles[p.role] ?? p.role) : w.ended}</span>
                    ) : null}
                  </th>
                  {h ? (
                    <>
                      <td>{kindOf(h.kind)}</td>
                      <td>{h.may.map((m) => w.may[m] ?? m).join(", ")}</td>
                      <td class="number">{showDate(h.from)}</td>
                      <td class="number">{showDate(h.until)}</td>
                      <td>{h.evidence}</td>
                      <td>
                        <span class={`badge ${h.state}`}>{w.states[h.state] ?? h.state}</span>
                      </td>
                      <td>
                        {administrator ? (
                          <Button
                            kind="quiet"
                            label={w.withdrawOf(p.name, kindOf(h.kind))}
                            disabled={d.busy}
                            onClick={() => withdraw(p, h)}
                          >
                            {w.withdraw}
                          </Button>
                        ) : null}
                      </td>
                    </>
                  ) : (
                    <td colSpan={7} class="quiet">
                      {w.nothing}
                    </td>
                  )}
                </tr>
              )),
            )}
          </tbody>
        </table>
      </section>
    </div>
  );
}

function Enter({ people, onDone }: { people: Person[]; onDone: () => void }) {
  const able = people.filter((p) => p.access);
  const [person, setPerson] = useState(able[0]?.id ?? "");
  const [kind, setKind] = useState("");
  const [may, setMay] = useState<string[]>([]);
  const [from, setFrom] = useState(localDay(new Date()));
  const [until, setUntil] = useState("");
  const [evidence, setEvidence] = useState("");
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      await send(`/api/users/${encodeURIComponent(person)}/competences`, {
        id: "",
        kind,
        may,
        from,
        until,
        evidence,
        state: "",
      });
      onDone();
    });
  return (
    <section class="office-form" aria-label={w.add}>
      <h2>{w.add}</h2>
      <Pick label={w.person} value={person} options={able.map((p) => [p.id, p.name])} onChange={setPerson} />
      <Pick
        label={w.kind}
        value={kind}
        options={[["", w.every], ...Object.entries(methodsWords.kinds)]}
        onChange={setKind}
      />
      <fieldset class="choice">
        <legend>{w.mayTitle}</legend>
        {Object.entries(w.may).map(([m, name]) => (
          <Check
            key={m}
            label={name}
            checked={may.includes(m)}
            onChange={(on) => setMay(on ? [...may, m] : may.filter((x) => x !== m))}
          />
        ))}
      </fieldset>
      <div class="columns">
        <Field label={w.from} type="date" value={from} onInput={setFrom} />
        <Field label={w.until} type="date" value={until} onInput={setUntil} hint={w.untilHint} />
      </div>
      <Field label={w.evidence} value={evidence} onInput={setEvidence} lines={2} />
      <Complaint error={d.error} />
      <div class="buttons">
        <Button kind="main" disabled={d.busy} onClick={go}>
          {w.keep}
        </Button>
        <Button onClick={onDone}>{w.cancel}</Button>
      </div>
    </section>
  );
}
