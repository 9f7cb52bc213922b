import { useEffect, useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Complaint, send, useDoing } from "../../nav/asking";
import { Button } from "../../parts/button";
import { machinesWords } from "../../words/machines";
import { showDateTime } from "../../words/words";
import type { Hook } from "./hooks";

const all = machinesWords;
const w = all.hooks;

type Message = {
  key: string;
  id: string;
  hook: string;
  event: string;
  body: string;
  made: string;
  tries: number;
  next: string;
  arrived: string;
  status: number;
  why: string;
};
type Reply = { messages: Message[]; next: string };

/** went says how sending a message went. */
function went(m: Message): string {
  if (m.arrived !== "") return w.arrived;
  const answer = m.why === "" ? "" : `${m.why} · `;
  return answer + (m.next === "" ? w.given : w.waits(showDateTime(m.next)));
}

/** HookLog lists the messages that were sent, the newest first, and sends a message again. */
export function HookLog({ hooks }: { hooks: readonly Hook[] }) {
  const [list, setList] = useState<readonly Message[] | undefined>();
  const [after, setAfter] = useState("");
  const d = useDoing();
  const load = (from: string) =>
    d.run(async () => {
      const reply = (await ask(`/api/hooks/messages?after=${encodeURIComponent(from)}`)) as Reply;
      setList(from === "" ? reply.messages : [...(list ?? []), ...reply.messages]);
      setAfter(reply.next);
    });
  useEffect(() => load(""), [hooks]);
  const again = (key: string) =>
    d.run(async () => {
      await send("/api/hooks/messages", { key });
      const reply = (await ask("/api/hooks/messages")) as Reply;
      setList(reply.messages);
      setAfter(reply.next);
    });
  const called = (id: string) => hooks.find((h) => h.id === id)?.name ?? id;
  return (
    <section aria-label={w.log}>
      <h2>{w.log}</h2>
      <Complaint error={d.error} />
      {list?.length === 0 ? <p>{w.logNone}</p> : null}
      {list && list.length > 0 ? (
        <div class="wide-table">
          <table>
            <thead>
              <tr>
                {[w.when, w.event, w.to, w.tries, w.answer, w.body, all.act].map((h) => (
                  <th key={h} scope="col" class={h === w.tries ? "number" : ""}>
                    {h}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {list.map((m) => (
                <tr key={m.key}>
                  <td>{showDateTime(m.made)}</td>
                  <td>{w.kinds[m.event] ?? m.event}</td>
                  <td>{called(m.hook)}</td>
                  <td class="number">{m.tries}</td>
                  <td>{m.arrived === "" ? <strong>{went(m)}</strong> : went(m)}</td>
                  <td>
                    <details>
                      <summary>{m.id}</summary>
                      <code class="print">{m.body}</code>
                    </details>
                  </td>
                  <td>
                    <Button disabled={d.busy} onClick={() => again(m.key)} label={`${w.again}: ${m.id}`}>
                      {w.again}
                    </Button>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      ) : null}
      {after === "" ? null : (
        <Button disabled={d.busy} onClick={() => load(after)}>
          {w.more}
        </Button>
      )}
    </section>
  );
}
