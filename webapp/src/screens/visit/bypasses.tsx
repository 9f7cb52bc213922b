import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { newId, type RecordState } from "../../wire/records";
import { afterWords } from "../../words/after";
import { useDraft } from "./draft";
import { Complaint, put, useKeep } from "../../nav/keep";
import { type Bypass, bypassesOf } from "../../records/after";

const w = afterWords.bypass;
const now = () => new Date().toISOString();

/** ListBypasses lists, before the first step, every bypass that is set for the test. */
export function ListBypasses({ visit }: { visit: RecordState }) {
  const [name, setName] = useDraft(`${visit.id} bypass`);
  const k = useKeep();
  const listed = bypassesOf(visit);
  const add = () => {
    if (name.trim() === "") return k.say(w.needOne);
    k.keep(async () => {
      await put(visit, { [`bypass.${newId()}`]: { name: name.trim(), state: "set", at: now() } });
      setName("");
    });
  };
  const go = () =>
    name.trim() === ""
      ? k.keep(() => put(visit, { bypasses: { none: listed.length === 0, at: now() } }))
      : k.say(w.kept);
  return (
    <>
      <h1>{w.title}</h1>
      <p class="instruction">{w.ask}</p>
      <ul class="before">
        {listed.map((b) => (
          <li key={b.id}>
            <strong>{b.name}</strong>
          </li>
        ))}
      </ul>
      <Field label={w.name} value={name} onInput={setName} />
      <Button size="tall" wide disabled={k.busy} onClick={add}>
        {w.add}
      </Button>
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {listed.length === 0 ? w.none : w.all}
      </Button>
    </>
  );
}

function Tick({ visit, bypass: b }: { visit: RecordState; bypass: Bypass }) {
  const [staying, stay] = useState(false);
  const [why, setWhy] = useDraft(`${visit.id} bypass ${b.id}`);
  const k = useKeep();
  const say = (state: string, reason: string) =>
    put(visit, { [`bypass.${b.id}`]: { name: b.name, state, ...(reason === "" ? {} : { reason }), at: now() } });
  const left = () =>
    why.trim() === ""
      ? k.say(w.leftNeeded)
      : k.keep(async () => {
          await say("left", why.trim());
          stay(false);
        });
  return (
    <li>
      <label>
        <input
          type="checkbox"
          disabled={k.busy}
          checked={b.state === "removed"}
          onChange={() => k.keep(() => say(b.state === "removed" ? "set" : "removed", ""))}
        />
        <span>
          <strong>{b.name}</strong> {b.state === "left" ? `${w.states["left"]}: ${b.reason}` : w.removed}
        </span>
      </label>
      {b.state === "set" && !staying ? <Button onClick={() => stay(true)}>{w.left}</Button> : null}
      {staying ? (
        <>
          <Field label={w.leftWhy(b.name)} value={why} onInput={setWhy} />
          <Button disabled={k.busy} onClick={left}>
            {w.left}
          </Button>
        </>
      ) : null}
      <Complaint error={k.error} />
    </li>
  );
}

/** TickBypasses has each bypass ticked off, or asks why it stays in. */
export function TickBypasses({ visit }: { visit: RecordState }) {
  const listed = bypassesOf(visit);
  if (listed.length === 0) return null;
  return (
    <section aria-label={w.title}>
      <h2>{w.back}</h2>
      <ul class="ticks">
        {listed.map((b) => (
          <Tick key={b.id} visit={visit} bypass={b} />
        ))}
      </ul>
    </section>
  );
}
