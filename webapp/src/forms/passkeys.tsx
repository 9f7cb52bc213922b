import { useState } from "preact/hooks";
import { Complaint, saying, send, useDoing } from "../nav/asking";
import { useNow } from "../nav/status";
import { Button } from "../parts/button";
import { Field } from "../parts/field";
import { accountWords as w } from "../words/account";
import { showAge } from "../words/words";
import { canPasskeys, codeOf, makePasskey } from "./passkey";
import { Recovery } from "./recovery";

export type Passkey = { id: string; name: string; made: string; used?: string };

function explain(e: unknown): string {
  const code = codeOf(e);
  if (e instanceof Error && e.message === "InvalidStateError") return w.keyHere;
  return w.keyRefused[code] ?? saying(e);
}

function Adding({ onDone }: { onDone: () => void }) {
  const [name, setName] = useState("");
  const [password, setPassword] = useState("");
  const [recovery, setRecovery] = useState<string[] | undefined>();
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      const made = await makePasskey(await send("/api/account/passkeys", { password }));
      const reply = (await send("/api/account/passkeys/finish", { ...made, name })) as { recovery: string[] | null };
      if (reply.recovery) setRecovery(reply.recovery);
      else onDone();
    }, explain);
  if (recovery !== undefined) return <Recovery codes={recovery} onRead={onDone} />;
  return (
    <>
      <Field label={w.keyName} value={name} onInput={setName} autocomplete="off" hint={w.keyNameHint} />
      <Field label={w.old} value={password} onInput={setPassword} type="password" autocomplete="current-password" />
      <Button disabled={d.busy || name.trim() === "" || password === ""} onClick={go}>
        {w.keyAdd}
      </Button>
      <Complaint error={d.error} />
    </>
  );
}

function Removing({ of, onDone }: { of: Passkey; onDone: () => void }) {
  const [password, setPassword] = useState("");
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      await send(`/api/account/passkeys/${encodeURIComponent(of.id)}`, { password }, "DELETE");
      onDone();
    }, explain);
  return (
    <>
      <p>{w.keyRemoveHint}</p>
      <Field label={w.old} value={password} onInput={setPassword} type="password" autocomplete="current-password" />
      <Button label={`${w.keyRemoveNow}: ${of.name}`} disabled={d.busy || password === ""} onClick={go}>
        {w.keyRemoveNow}
      </Button>
      <Complaint error={d.error} />
    </>
  );
}

/** Passkeys lists a person's own passkeys, and adds and removes them. */
export function Passkeys({ list, here, onKept }: { list: Passkey[]; here: boolean; onKept: () => void }) {
  const [removing, setRemoving] = useState("");
  const now = useNow();
  const kept = () => {
    setRemoving("");
    onKept();
  };
  return (
    <>
      <h3>{w.keys}</h3>
      <p class="quiet">{w.keysHint}</p>
      <ul class="rows">
        {list.map((k) => (
          <li key={k.id}>
            <p>
              {k.name}
              <br />
              <span class="small quiet">
                {k.used === undefined ? w.keyNew : w.seen(showAge(Date.parse(k.used), now))}
              </span>
            </p>
            {removing === k.id ? (
              <Removing of={k} onDone={kept} />
            ) : (
              <Button label={`${w.keyRemove}: ${k.name}`} onClick={() => setRemoving(k.id)}>
                {w.keyRemove}
              </Button>
            )}
          </li>
        ))}
      </ul>
      {here ? canPasskeys() ? <Adding key={list.length} onDone={kept} /> : <p>{w.keyOld}</p> : <p>{w.keysOff}</p>}
    </>
  );
}
