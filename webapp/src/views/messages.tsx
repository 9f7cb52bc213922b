import { useEffect, useState } from "preact/hooks";
import { Complaint, put, useKeep } from "../nav/keep";
import { useLink } from "../nav/status";
import { Button } from "../parts/button";
import { Field } from "../parts/field";
import { useKind, useLive } from "../store/hooks";
import { keyTo } from "../store/shelf";
import { byKey, unsent } from "../store/store";
import { newId, type RecordState, text } from "../wire/records";
import { messageWords as w } from "../words/messages";
import { showDateTime } from "../words/words";
import { longMessage, type Message, messagesOf, unseenBy } from "../records/messages";

/** A person with an office role is marked so beside the name. */
const isOffice = (person: RecordState | undefined) => person !== undefined && text(person, "role") !== "technician";

function One({ m, me, people, waits }: { m: Message; me: string; people: RecordState[]; waits: boolean }) {
  const who = people.find((p) => p.id === m.by);
  const names = m.seen
    .filter((id) => id !== m.by)
    .map(
      (id) =>
        text(
          people.find((p) => p.id === id),
          "name",
        ) || w.someone,
    );
  return (
    <li class={m.by === me ? "message own" : "message"}>
      <p>{m.text}</p>
      <p class="small quiet">
        {text(who, "name") || w.someone}
        {isOffice(who) ? ` (${w.office})` : ""}, {showDateTime(m.at)}
        {m.by === me ? ` · ${waits ? w.waits : names.length > 0 ? w.seenBy(names.join(", ")) : w.sent}` : ""}
      </p>
    </li>
  );
}

/**
 * Messages shows what phones and office write to each other about an instrument. Opening it marks
 * the messages as seen, which the others can see.
 */
export function Messages({ instrument }: { instrument: RecordState }) {
  const user = useLink().user;
  const me = user?.id ?? "";
  const people = useKind("person") ?? [];
  const waiting = useLive(unsent, () => true, []);
  const [typed, type] = useState("");
  const k = useKeep();
  const list = messagesOf(instrument);
  const fresh = unseenBy(instrument, me);
  useEffect(() => {
    if (me === "" || fresh.length === 0) return;
    const marks = Object.fromEntries(fresh.map((m) => [`seen.${m.id}.${me}`, true]));
    put(instrument, marks).catch((e: unknown) => console.error(e));
  }, [fresh.map((m) => m.id).join(" "), me]);
  const send = () => {
    const said = typed.trim();
    if (said === "") return k.say(w.empty);
    if ([...said].length > longMessage) return k.say(w.long(longMessage));
    k.keep(async () => {
      await put(instrument, { [`message.${newId()}`]: { text: said } });
      type("");
    });
  };
  return (
    <section class="messages">
      <h2>{w.title}</h2>
      {list.length === 0 ? <p class="quiet">{w.none}</p> : null}
      <ul>
        {list.map((m) => (
          <One key={m.id} m={m} me={me} people={people} waits={waiting?.has(m.change) === true} />
        ))}
      </ul>
      <Field
        label={user?.role === "technician" ? w.label : w.labelOffice}
        value={typed}
        onInput={type}
        hint={w.hint}
        lines={2}
      />
      <Complaint error={k.error} />
      <Button disabled={k.busy} onClick={send}>
        {w.send}
      </Button>
    </section>
  );
}

/** Unseen lists the instruments with messages of others that the person has not seen. */
export function Unseen() {
  const me = useLink().user?.id ?? "";
  const found = useLive(
    async () => (await byKey(keyTo.messages)).filter((i) => unseenBy(i, me).length > 0),
    (n) => n.kinds.includes("instrument"),
    [me],
  );
  if (!found || found.length === 0) return null;
  return (
    <section class="new-messages">
      <h2>{w.unseen(found.reduce((n, i) => n + unseenBy(i, me).length, 0))}</h2>
      <ul class="rows">
        {found.map((i) => (
          <li key={i.id}>
            <a href={`/instrument/${i.id}`}>
              <span>
                <span class="lead">{text(i, "tag")}</span> {unseenBy(i, me).at(-1)?.text}
              </span>
            </a>
          </li>
        ))}
      </ul>
    </section>
  );
}
