import { useState } from "preact/hooks";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { Button } from "../../parts/button";
import { machinesWords } from "../../words/machines";
import { showDateTime } from "../../words/words";

const all = machinesWords;
const w = all.mail;

type Recipient = { id: string; name: string; address: string; language: string; daily: boolean; at_once: boolean };
type Reply = {
  server: string;
  from: string;
  hour: number;
  people: Recipient[];
  waiting: number;
  sent: string;
  failed: string;
  why: string;
};

function Row({ person: p, sends }: { person: Recipient; sends: boolean }) {
  const [now, set] = useState(p);
  const [was, setWas] = useState(p);
  const [said, setSaid] = useState("");
  const d = useDoing();
  const path = `/api/mail/people/${encodeURIComponent(p.id)}`;
  const change = (more: Partial<Recipient>) => {
    setSaid("");
    set({ ...now, ...more });
  };
  const run = (work: () => Promise<unknown>, then: string) =>
    d.run(async () => {
      setSaid("");
      await work();
      setSaid(then);
    });
  const keep = () =>
    run(async () => {
      const { address, language, daily, at_once } = now;
      await send(path, { address: address.trim(), language, daily, at_once }, "PUT");
      setWas(now);
    }, w.kept);
  const same = JSON.stringify(now) === JSON.stringify(was);
  return (
    <tr>
      <th scope="row">{p.name}</th>
      <td>
        <input
          type="text"
          inputMode="email"
          autocomplete="off"
          spellcheck={false}
          aria-label={w.addressOf(p.name)}
          value={now.address}
          onInput={(e) => change({ address: e.currentTarget.value })}
        />
      </td>
      <td>
        <select
          aria-label={w.languageOf(p.name)}
          value={now.language}
          onChange={(e) => change({ language: e.currentTarget.value })}
        >
          {Object.entries(all.languages).map(([v, shown]) => (
            <option key={v} value={v}>
              {shown}
            </option>
          ))}
        </select>
      </td>
      <td>
        <input
          type="checkbox"
          aria-label={w.dailyOf(p.name)}
          checked={now.daily}
          onChange={() => change({ daily: !now.daily })}
        />
      </td>
      <td>
        <input
          type="checkbox"
          aria-label={w.atOnceOf(p.name)}
          checked={now.at_once}
          onChange={() => change({ at_once: !now.at_once })}
        />
      </td>
      <td>
        <Button disabled={d.busy || same} onClick={keep} label={w.keepOf(p.name)}>
          {w.keep}
        </Button>
        {sends && was.address !== "" ? (
          <Button
            disabled={d.busy || !same}
            onClick={() => run(() => send(`${path}/try`, {}), w.tried)}
            label={w.tryOf(p.name)}
          >
            {w.try}
          </Button>
        ) : null}
        <Complaint error={d.error} />
        <span role="status">{said}</span>
      </td>
    </tr>
  );
}

/** MailOf sets whether and how mail is sent, and who is notified of what. */
export function MailOf() {
  const asked = useAsk<Reply>("/api/mail");
  const r = asked.reply;
  return (
    <>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      {r === undefined ? null : (
        <>
          {r.server === "" ? (
            <p>
              <strong>{w.off}</strong>
            </p>
          ) : (
            <p>
              {[w.on(r.server, r.from), w.hour(r.hour), w.waiting(r.waiting)].join(" ")}
              {r.sent === "" ? "" : ` ${w.sent(showDateTime(r.sent))}`}
              {r.why === "" ? null : (
                <>
                  <br />
                  <strong>{w.failed(showDateTime(r.failed), r.why)}</strong>
                </>
              )}
            </p>
          )}
          <div class="wide-table">
            <table class="mail">
              <thead>
                <tr>
                  {[w.person, w.address, w.language, w.daily, w.atOnce, all.act].map((h) => (
                    <th key={h} scope="col">
                      {h}
                    </th>
                  ))}
                </tr>
              </thead>
              <tbody>
                {r.people.map((p) => (
                  <Row key={p.id} person={p} sends={r.server !== ""} />
                ))}
              </tbody>
            </table>
          </div>
        </>
      )}
    </>
  );
}
