import { useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { useLink } from "../../shell/status";
import type { Role } from "../../wire/api";
import { officeWords } from "../../words/office";
import { Complaint, send, useAsk, useDoing, Waiting } from "./asking";
import type { Account } from "./office-data";
import { Sites } from "./sites";

const w = officeWords.people;
const roles: readonly Role[] = ["technician", "reviewer", "administrator"];

function Add({ onAdded }: { onAdded: () => void }) {
  const [name, setName] = useState("");
  const [password, setPassword] = useState("");
  const [role, setRole] = useState<Role>("technician");
  const [said, setSaid] = useState("");
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      setSaid("");
      await send("/api/users", { name, password, role });
      setSaid(w.added(name));
      setName("");
      setPassword("");
      onAdded();
    });
  return (
    <>
      <h2>{w.new}</h2>
      <p class="small quiet">{w.newHint}</p>
      <Field label={w.name} value={name} onInput={setName} autocomplete="off" />
      <Field label={w.password} type="password" value={password} onInput={setPassword} autocomplete="new-password" />
      <Choice label={w.role} value={role} onChange={setRole} options={roles.map((r) => [r, w.roles[r]] as const)} />
      <Complaint error={d.error} />
      <Button kind="main" disabled={d.busy || name.trim() === "" || password === ""} onClick={go}>
        {w.add}
      </Button>
      <p role="status">{said}</p>
    </>
  );
}

/** PeopleScreen lists the accounts; an administrator adds and ends them. */
export function PeopleScreen() {
  const user = useLink().user;
  const asked = useAsk<{ users: Account[] | null }>("/api/users");
  const [ending, setEnding] = useState("");
  const d = useDoing();
  const end = (id: string) =>
    d.run(async () => {
      await ask(`/api/users/${encodeURIComponent(id)}/revoke`, { method: "POST", body: "{}" });
      setEnding("");
      asked.again();
    });
  return (
    <>
      <h1>{w.title}</h1>
      <Waiting asked={asked} />
      <ul class="rows people">
        {(asked.reply?.users ?? []).map((u) => (
          <li key={u.id}>
            <span class="lead">{u.name}</span>
            <span>
              {w.roles[u.role]}
              {u.role === "technician" && !u.revoked ? <Sites id={u.id} name={u.name} sites={u.sites ?? []} onKept={asked.again} /> : null}
            </span>
            <span>
              {u.revoked ? w.revoked : u.id === user?.id ? w.you : null}
              {u.revoked || u.id === user?.id || ending === u.id ? null : (
                <Button label={`${w.revoke}: ${u.name}`} onClick={() => setEnding(u.id)}>
                  {w.revoke}
                </Button>
              )}
            </span>
            {ending === u.id ? (
              <div class="caution" role="alert">
                <p>{w.sure(u.name)}</p>
                <div class="buttons">
                  <Button kind="main" disabled={d.busy} onClick={() => end(u.id)}>
                    {w.revokeNow}
                  </Button>
                  <Button onClick={() => setEnding("")}>{w.keep}</Button>
                </div>
              </div>
            ) : null}
          </li>
        ))}
      </ul>
      <Complaint error={d.error} />
      <Add onAdded={asked.again} />
    </>
  );
}
