import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Button } from "../parts/button";
import { Choice } from "../parts/field";
import { Later } from "../parts/later";
import { useLink } from "../nav/status";
import { useKind, useLive, useRecord } from "../store/hooks";
import { commit, record } from "../store/store";
import { asNumber, outOfService, type RecordState, text, value } from "../wire/records";
import { contested } from "../records/contested";
import { useCalc } from "../nav/use-calc";
import { useContested } from "../nav/use-contested";
import { giveWords as w } from "../words/give";
import { words } from "../words/words";
import { Complaint, useKeep } from "../nav/keep";
import { fittingAsked, kindOf, type Looked, lookAt, named } from "../records/give";

const loadItem = () => import("./kinds").then((m) => m.EditItem);
const loadExchange = () => import("./exchange").then((m) => m.Exchange);
const loadEdit = () => import("./kinds").then((m) => m.EditParticulars);
const loadParticulars = () => import("../views/particulars").then((m) => m.Particulars);

/** More shows an instrument's particulars, if it has any, and its method. */
export function More({ instrument }: { instrument: RecordState }) {
  const office = useLink().user?.role !== "technician";
  return (
    <>
      {office && instrument.kind === "instrument" ? <FactsOf instrument={instrument} /> : null}
      {value(instrument, "particulars") === undefined ? null : <Later load={loadParticulars} props={{ instrument }} />}
      {office && instrument.kind === "instrument" && !["", "gauge"].includes(text(instrument, "kind")) ? (
        <Later load={loadEdit} props={{ instrument }} />
      ) : null}
      {instrument.kind === "instrument" ? <MethodOf instrument={instrument} /> : null}
    </>
  );
}

/** FactsOf lets the office change the facts of an instrument. */
function FactsOf({ instrument }: { instrument: RecordState }) {
  const [changing, change] = useState(false);
  const [exchanging, exchange] = useState(false);
  const [said, say] = useState<ComponentChildren>("");
  const done = (t: ComponentChildren) => {
    change(false);
    say(t);
  };
  if (exchanging) return <Later load={loadExchange} props={{ id: instrument.id, onDone: () => exchange(false) }} />;
  if (changing) return <Later load={loadItem} props={{ instrument, onDone: done }} />;
  return (
    <div class="buttons">
      <Button onClick={() => change(true)}>{w.facts}</Button>
      {outOfService(instrument) ? null : <Button onClick={() => exchange(true)}>{w.exchange}</Button>}
      <p role="status">{said}</p>
    </div>
  );
}

/** MethodOf shows everybody an instrument's method, and lets the office give it another one. */
function MethodOf({ instrument }: { instrument: RecordState }) {
  const [giving, give] = useState(false);
  const [said, say] = useState("");
  const office = useLink().user?.role !== "technician";
  const id = text(instrument, "method");
  const method = useRecord(id);
  useContested(instrument);
  if (method === undefined) return <p class="quiet">{words.shell.loading}</p>;
  return (
    <section aria-label={w.title}>
      <h2>{w.title}</h2>
      {contested(instrument, "method") ? (
        <p>{office ? <a href={`/office/contested/${instrument.id}`}>{w.contested}</a> : w.contested}</p>
      ) : (
        <p>
          {id === "" ? (
            w.none
          ) : method === null ? (
            w.away
          ) : office ? (
            <a href={`/office/method/${id}`}>{text(method, "name")}</a>
          ) : (
            text(method, "name")
          )}
        </p>
      )}
      <p role="status">{said}</p>
      {giving ? (
        <GiveMethod
          ids={[instrument.id]}
          onDone={(t) => {
            give(false);
            say(t);
          }}
        />
      ) : !office ? null : (
        <Button
          onClick={() => {
            say("");
            give(true);
          }}
        >
          {id === "" ? w.give : w.another}
        </Button>
      )}
    </section>
  );
}

/**
 * GiveMethod gives a method to instruments after checking each. If some cannot take it, it says
 * which and why, and asks before it goes on with the others.
 */
export function GiveMethod({ ids, onDone }: { ids: string[]; onDone: (said: string) => void }) {
  const methods = useKind("method");
  const kinds = useLive(
    async () => [
      ...new Set((await Promise.all(ids.map((id) => record(id)))).flatMap((r) => (r ? [text(r, "kind")] : []))),
    ],
    () => false,
    [ids.join(" ")],
  );
  const [chosen, choose] = useState<string | undefined>();
  const [progress, setProgress] = useState("");
  const [looked, setLooked] = useState<Looked | undefined>();
  const k = useKeep();
  const fits = useCalc("fitting", methods && kinds && fittingAsked(methods, kinds));
  if (!methods || !kinds || !fits) return <p class="quiet">{words.shell.loading}</p>;
  const usable = named(methods, fits.methods);
  const method = usable.find((m) => m.id === chosen);
  const write = async (of: RecordState, found: Looked) => {
    for (const [n, it] of found.take.entries()) {
      if (n % 10 === 0) setProgress(w.writing(n, found.take.length));
      await commit({
        record: it.id,
        kind: it.kind,
        site: it.site,
        parent: it.parent,
        set: [{ field: "method", value: of.id }],
      });
    }
    setProgress("");
    onDone(w.done(found.take.length, found.have, text(of, "name")));
  };
  const go = () => {
    if (!method) return k.say(w.needed);
    k.keep(async () => {
      try {
        const found = await lookAt(method, ids, record, (n) => n % 10 === 0 && setProgress(w.checking(n, ids.length)));
        setLooked(found);
        if (found.refused.length === 0) await write(method, found);
      } finally {
        setProgress("");
      }
    });
  };
  const take = (v: string) => {
    choose(v);
    setLooked(undefined);
    k.say(undefined);
  };
  const name = (m: RecordState) =>
    [text(m, "name"), kinds.length > 1 ? w.kind(kindOf(m)) : "", w.version(asNumber(value(m, "version")) ?? 1)]
      .filter(Boolean)
      .join(", ");
  return (
    <section class="office-form" aria-label={w.to(ids.length)}>
      {ids.length > 1 ? <h2>{w.to(ids.length)}</h2> : null}
      <p class="quiet">{w.hint}</p>
      {usable.length === 0 ? (
        <p>{w.noMethods}</p>
      ) : (
        <Choice label={w.choose} value={chosen} onChange={take} options={usable.map((m) => [m.id, name(m)] as const)} />
      )}
      <p role="status">{progress}</p>
      {looked && looked.refused.length > 0 ? (
        <div role="alert">
          <p class="complaint">{w.refused(looked.refused.length)}</p>
          <ul>
            {looked.refused.map((r) => (
              <li key={r.id}>{`${r.tag}: ${r.why}`}</li>
            ))}
          </ul>
        </div>
      ) : null}
      <Complaint error={k.error} />
      <div class="buttons">
        {looked && looked.refused.length > 0 ? (
          looked.take.length > 0 && method ? (
            <Button kind="main" disabled={k.busy} onClick={() => k.keep(() => write(method, looked))}>
              {w.others(looked.take.length)}
            </Button>
          ) : null
        ) : (
          <Button kind="main" disabled={k.busy || usable.length === 0} onClick={go}>
            {w.go}
          </Button>
        )}
        <Button disabled={k.busy} onClick={() => onDone("")}>
          {w.cancel}
        </Button>
      </div>
    </section>
  );
}
