import { useState } from "preact/hooks";
import { ask, LinkError } from "../../link/link";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { useLink } from "../../nav/status";
import type { Role } from "../../wire/api";
import { peopleWords as w } from "../../words/people";
import { Complaint, saying, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import type { Account } from "../../records/office";
import { Provider } from "./provider";
import { Sites } from "./sites";

const loadErase = () => import("./erase").then((m) => m.Erase);
const roles: readonly Role[] = ["technician", "reviewer", "administrator"];
const options = roles.map((r) => [r, w.roles[r] ?? r] as const);

/** explain says why an account was not changed. */
function explain(e: unknown): string {
  if (e instanceof LinkError && e.code === "exists") return w.exists;
  return e instanceof LinkError && e.code === "last" ? w.last : saying(e);
}

/** called is a person's full name, or the account's name if none is on record. */
const called = (a: Account) => a.full || a.name;

/** Identity sets a person's full name and function. */
function Identity({ path, account, onKept }: { path: string; account: Account; onKept: () => void }) {
  const [full, setFull] = useState(account.full ?? "");
  const [as, setAs] = useState(account.function ?? "");
  const [said, setSaid] = useState("");
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      setSaid("");
      await send(`${path}/person`, { full, function: as }, "PUT");
      setSaid(w.personKept);
      onKept();
    }, explain);
  return (
    <>
      <Field label={w.full} value={full} onInput={setFull} autocomplete="off" hint={w.fullHint} />
      <Field label={w.function} value={as} onInput={setAs} autocomplete="off" hint={w.functionHint} />
      <Button disabled={d.busy || full.trim() === ""} onClick={go}>
        {w.keepPerson}
      </Button>
      <Complaint error={d.error} />
      <p role="status">{said}</p>
    </>
  );
}

type Invited = { name: string; code: string };

/** Code shows the code of an invitation, this once. */
function Code({ of }: { of: Invited | undefined }) {
  return (
    <div role="status">
      {of === undefined ? null : (
        <>
          <p>{w.code(of.name)}</p>
          <p>
            <strong>{of.code}</strong>
          </p>
        </>
      )}
    </div>
  );
}

/** Logins says on how many devices a person is logged in, and ends that. */
function Logins({ path, onEnded }: { path: string; onEnded: () => void }) {
  const asked = useAsk<{ logins: unknown[] }>(`${path}/logins`);
  const d = useDoing();
  const n = asked.reply?.logins.length ?? 0;
  const end = () =>
    d.run(async () => {
      await ask(`${path}/logins`, { method: "DELETE" });
      asked.again();
      onEnded();
    });
  return (
    <>
      <p class="small">{asked.reply ? w.logins(n) : ""}</p>
      {n === 0 ? null : (
        <Button disabled={d.busy} onClick={end}>
          {w.endLogins}
        </Button>
      )}
      <Complaint error={d.error ?? asked.error} />
    </>
  );
}

/**
 * Alter gives a person another role or a new invitation, and removes log-ins and a lost second
 * factor.
 */
function Alter({ account, onKept }: { account: Account; onKept: () => void }) {
  const [role, setRole] = useState<Role>(account.role);
  const [open, setOpen] = useState(false);
  const [erasing, setErasing] = useState(false);
  const [code, setCode] = useState<Invited | undefined>();
  const [said, setSaid] = useState("");
  const d = useDoing();
  const path = `/api/users/${encodeURIComponent(account.id)}`;
  const keep = (work: () => Promise<unknown>, then: string) =>
    d.run(async () => {
      setSaid("");
      await work();
      setSaid(then);
      onKept();
    }, explain);
  const ended = () => {
    setSaid(w.altered(called(account)));
    onKept();
  };
  const invite = async () => {
    const reply = (await send(`${path}/invite`, {})) as { code: string };
    setCode({ name: called(account), code: reply.code });
  };
  return (
    <details class="opened" onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary aria-label={`${w.alter}: ${called(account)}`}>{w.alter}</summary>
      <Choice label={w.role} value={role} onChange={setRole} options={options} />
      <Button
        disabled={d.busy || role === account.role}
        onClick={() => keep(() => send(`${path}/role`, { role }, "PUT"), w.altered(called(account)))}
      >
        {w.keepRole}
      </Button>
      {open ? <Identity path={path} account={account} onKept={onKept} /> : null}
      {open && account.full ? (
        <details class="opened" onToggle={(e) => setErasing(e.currentTarget.open)}>
          <summary>{w.erase}</summary>
          {erasing ? (
            <Later
              load={loadErase}
              props={{ path: `/api/office/people/${encodeURIComponent(account.id)}`, onErased: onKept }}
            />
          ) : null}
        </details>
      ) : null}
      {open ? <Logins path={path} onEnded={ended} /> : null}
      <p class="small quiet">{w.inviteHint}</p>
      <Button disabled={d.busy} onClick={() => keep(invite, "")}>
        {w.invite}
      </Button>
      <Code of={code} />
      {account.second ? (
        <>
          <p class="small quiet">{w.endSecondHint}</p>
          <Button
            disabled={d.busy}
            onClick={() => keep(() => ask(`${path}/second`, { method: "DELETE" }), w.secondEnded(called(account)))}
          >
            {w.endSecond}
          </Button>
        </>
      ) : null}
      {open ? <Provider path={path} account={account} onKept={onKept} /> : null}
      <Complaint error={d.error} />
      <p role="status">{said}</p>
    </details>
  );
}

function Add({ onAdded }: { onAdded: () => void }) {
  const [name, setName] = useState("");
  const [full, setFull] = useState("");
  const [as, setAs] = useState("");
  const [role, setRole] = useState<Role>("technician");
  const [code, setCode] = useState<Invited | undefined>();
  const d = useDoing();
  const go = () =>
    d.run(async () => {
      setCode(undefined);
      const made = (await send("/api/users", { name, role, full, function: as })) as Invited;
      setCode({ name: full.trim() || made.name, code: made.code });
      setName("");
      setFull("");
      setAs("");
      onAdded();
    }, explain);
  return (
    <>
      <h2>{w.new}</h2>
      <p class="small quiet">{w.newHint}</p>
      <Field label={w.full} value={full} onInput={setFull} autocomplete="off" hint={w.fullHint} />
      <Field label={w.function} value={as} onInput={setAs} autocomplete="off" hint={w.functionHint} />
      <Field label={w.name} value={name} onInput={setName} autocomplete="off" />
      <Choice label={w.role} value={role} onChange={setRole} options={options} />
      <Complaint error={d.error} />
      <Button kind="main" disabled={d.busy || name.trim() === ""} onClick={go}>
        {w.add}
      </Button>
      <Code of={code} />
    </>
  );
}

/** PeopleScreen lists the accounts. An administrator invites, changes and ends them. */
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
    }, explain);
  return (
    <>
      <h1>{w.title}</h1>
      <Waiting asked={asked} />
      <ul class="rows people">
        {(asked.reply?.users ?? []).map((u) => (
          <li key={u.id}>
            <span class="lead">{called(u)}</span>
            <span>
              {[
                u.function,
                w.roles[u.role],
                w.loginName(u.name),
                u.invited ? w.invited : "",
                u.second ? w.second : "",
                u.linked ? w.linked : "",
              ]
                .filter(Boolean)
                .join(", ")}
              {u.role === "technician" && !u.revoked ? (
                <Sites id={u.id} name={called(u)} sites={u.sites ?? []} onKept={asked.again} />
              ) : null}
            </span>
            <span>
              {u.revoked ? w.revoked : u.id === user?.id ? w.you : null}
              {u.revoked || u.id === user?.id || ending === u.id ? null : (
                <Button label={`${w.revoke}: ${called(u)}`} onClick={() => setEnding(u.id)}>
                  {w.revoke}
                </Button>
              )}
            </span>
            {u.revoked || u.id === user?.id ? null : (
              <Alter key={`${u.id} ${u.role}`} account={u} onKept={asked.again} />
            )}
            {ending === u.id ? (
              <div class="caution" role="alert">
                <p>{w.sure(called(u))}</p>
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
