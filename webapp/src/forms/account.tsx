import { useState } from "preact/hooks";
import { ask, LinkError } from "../link/link";
import { Complaint, saying, send, useAsk, useDoing, Waiting } from "../nav/asking";
import { useNow } from "../nav/status";
import { Button } from "../parts/button";
import { Field } from "../parts/field";
import { accountWords as w } from "../words/account";
import { showAge } from "../words/words";
import { OwnKeys } from "./key-list";
import { type Passkey, Passkeys } from "./passkeys";
import { Recovery } from "./recovery";

function explain(e: unknown): string {
  if (e instanceof LinkError && e.code === "password") return w.wrong;
  return e instanceof LinkError && e.code === "code" ? w.codeWrong : saying(e);
}

function Password() {
  const [old, setOld] = useState("");
  const [own, setOwn] = useState("");
  const [said, setSaid] = useState("");
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      setSaid("");
      await send("/api/account/password", { old, new: own });
      setOld("");
      setOwn("");
      setSaid(w.kept);
    }, explain);
  return (
    <>
      <h3>{w.password}</h3>
      <Field label={w.old} value={old} onInput={setOld} type="password" autocomplete="current-password" />
      <Field label={w.new} value={own} onInput={setOwn} type="password" autocomplete="new-password" hint={w.hint} />
      <Button disabled={d.busy || old === "" || own === ""} onClick={go}>
        {w.keep}
      </Button>
      <Complaint error={d.error} />
      <p role="status">{said}</p>
    </>
  );
}

type Begun = { secret: string; png: string };

/** Setting leads through setting up a second factor: scan, confirm, recovery codes. */
function Setting({ onDone }: { onDone: () => void }) {
  const [password, setPassword] = useState("");
  const [begun, setBegun] = useState<Begun | undefined>();
  const [code, setCode] = useState("");
  const [recovery, setRecovery] = useState<string[] | undefined>();
  const d = useDoing();
  const begin = () => d.run(async () => setBegun((await send("/api/account/second", { password })) as Begun), explain);
  const confirm = () =>
    d.run(
      async () =>
        setRecovery(((await send("/api/account/second/confirm", { code })) as { recovery: string[] }).recovery),
      explain,
    );
  if (recovery !== undefined) return <Recovery codes={recovery} onRead={onDone} />;
  return begun === undefined ? (
    <>
      <Field label={w.old} value={password} onInput={setPassword} type="password" autocomplete="current-password" />
      <Button disabled={d.busy || password === ""} onClick={begin}>
        {w.begin}
      </Button>
      <Complaint error={d.error} />
    </>
  ) : (
    <>
      <p>{w.scan}</p>
      <img src={`data:image/png;base64,${begun.png}`} alt={w.scan} />
      <p class="small">
        {w.secret}: <code>{begun.secret.replace(/(.{4})(?=.)/g, "$1 ")}</code>
      </p>
      <Field label={w.code} value={code} onInput={setCode} autocomplete="one-time-code" inputMode="numeric" />
      <Button kind="main" disabled={d.busy || code === ""} onClick={confirm}>
        {w.confirm}
      </Button>
      <Complaint error={d.error} />
    </>
  );
}

function Ending({ onDone }: { onDone: () => void }) {
  const [password, setPassword] = useState("");
  const [code, setCode] = useState("");
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      await send("/api/account/second/end", { password, code });
      onDone();
    }, explain);
  return (
    <>
      <Field label={w.old} value={password} onInput={setPassword} type="password" autocomplete="current-password" />
      <Field label={w.endCode} value={code} onInput={setCode} autocomplete="one-time-code" />
      <Button disabled={d.busy || password === "" || code === ""} onClick={go}>
        {w.end}
      </Button>
      <Complaint error={d.error} />
    </>
  );
}

type Session = { id: string; made: string; seen: string; device: string; this: boolean };

function Logins() {
  const asked = useAsk<{ logins: Session[] }>("/api/logins");
  const now = useNow();
  const d = useDoing();
  const end = (path: string) =>
    d.run(async () => {
      await ask(path, { method: "DELETE" });
      asked.again();
    });
  const list = asked.reply?.logins ?? [];
  return (
    <>
      <h3>{w.logins}</h3>
      <Waiting asked={asked} />
      <ul class="rows">
        {list.map((l) => (
          <li key={l.id}>
            <p>
              {l.device || w.unknown}
              <br />
              <span class="small quiet">
                {[l.this ? w.this : "", w.seen(showAge(Date.parse(l.seen), now))].filter(Boolean).join(" · ")}
              </span>
            </p>
            {l.this ? null : (
              <Button disabled={d.busy} onClick={() => end(`/api/logins/${l.id}`)}>
                {w.endOne}
              </Button>
            )}
          </li>
        ))}
      </ul>
      {list.length > 1 ? (
        <Button disabled={d.busy} onClick={() => end("/api/logins")}>
          {w.endOthers}
        </Button>
      ) : null}
      <Complaint error={d.error} />
    </>
  );
}

/** Account shows a person's own password, second factor and log-ins. It needs a connection. */
export function Account() {
  type Own = { id: string; codes: boolean; wanted: boolean; passkeys: Passkey[]; passkeys_here: boolean };
  const asked = useAsk<Own>("/api/account");
  const a = asked.reply;
  return (
    <>
      <Waiting asked={asked} />
      {a === undefined ? null : (
        <>
          <Password />
          <h3>{w.second}</h3>
          {a.wanted ? <p role="alert">{w.wanted}</p> : null}
          <p class="quiet">{a.codes ? w.has : w.without}</p>
          {a.codes ? <Ending onDone={asked.again} /> : <Setting onDone={asked.again} />}
          <Passkeys list={a.passkeys} here={a.passkeys_here} onKept={asked.again} />
          <Logins />
          <OwnKeys user={a.id} />
        </>
      )}
    </>
  );
}
