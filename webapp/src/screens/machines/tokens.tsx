import { useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { Field } from "../../parts/field";
import { moveDay } from "../../records/office";
import { localDay } from "../../records/stops";
import { machinesWords } from "../../words/machines";
import { showDate, showDateTime } from "../../words/words";
import { Secret } from "./secret";
import { atSites, SitesOf, useSites } from "./sites";

const all = machinesWords;
const w = all.tokens;

type Token = {
  id: string;
  name: string;
  scopes: string[];
  sites: string[];
  made: string;
  by: string;
  until: string;
  ended: string;
  used: string;
  in_force: boolean;
};
type Reply = { tokens: Token[]; scopes: string[] };

/** lastDay is the day before the moment at which a token expires. */
const lastDay = (until: string) => localDay(new Date(Date.parse(until) - 1));

type RowProps = { token: Token; sites: [string, string][]; onEnded: () => void };

function Row({ token: t, sites, onEnded }: RowProps) {
  const d = useDoing();
  const end = () =>
    d.run(async () => {
      await ask(`/api/machines/tokens/${t.id}`, { method: "DELETE" });
      onEnded();
    });
  return (
    <tr>
      <th scope="row">{t.name}</th>
      <td>
        {t.scopes.map((s) => (
          <div key={s}>{w.scopes[s] ?? s}</div>
        ))}
        {sites.length === 0 ? null : <div class="small quiet">{atSites(t.sites, sites)}</div>}
      </td>
      <td>{showDate(lastDay(t.until))}</td>
      <td>{t.in_force ? w.inForce : w.over}</td>
      <td>{t.used === "" ? all.never : showDateTime(t.used)}</td>
      <td>
        {showDateTime(t.made)}
        <br />
        <span class="small quiet">{`${all.by} ${t.by || all.lineOf}`}</span>
      </td>
      <td>
        <Button disabled={d.busy} onClick={end} label={`${t.in_force ? w.end : w.forget}: ${t.name}`}>
          {t.in_force ? w.end : w.forget}
        </Button>
        <Complaint error={d.error} />
      </td>
    </tr>
  );
}

/** Tokens lists the access tokens of other systems, and makes and ends them. */
export function Tokens() {
  const asked = useAsk<Reply>("/api/machines/tokens");
  const [name, setName] = useState("");
  const [until, setUntil] = useState(moveDay(localDay(new Date()), 365));
  const [scopes, setScopes] = useState<readonly string[]>([]);
  const [at, setAt] = useState<string[]>([]);
  const sites = useSites();
  const [secret, setSecret] = useState<string | undefined>();
  const d = useDoing();
  const make = () =>
    d.run(async () => {
      const made = (await send("/api/machines/tokens", { name, until, scopes, sites: at })) as { secret: string };
      setSecret(made.secret);
      setName("");
      setScopes([]);
      setAt([]);
      asked.again();
    });
  const r = asked.reply;
  return (
    <>
      <p class="quiet">
        {w.hint} <a href="/api/v1/openapi.json">{w.described}</a>
      </p>
      <Waiting asked={asked} />
      <Secret title={w.secret} of={secret} onDone={() => setSecret(undefined)} />
      {r?.tokens.length === 0 ? <p>{w.none}</p> : null}
      {r && r.tokens.length > 0 ? (
        <div class="wide-table">
          <table>
            <thead>
              <tr>
                {[all.name, w.may, w.until, all.state, w.used, all.made, all.act].map((h) => (
                  <th key={h} scope="col">
                    {h}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {r.tokens.map((t) => (
                <Row key={t.id} token={t} sites={sites} onEnded={asked.again} />
              ))}
            </tbody>
          </table>
        </div>
      ) : null}
      {r === undefined ? null : (
        <section class="office-form" aria-label={w.make}>
          <h2>{w.make}</h2>
          <Field label={all.name} value={name} onInput={setName} hint={w.nameHint} />
          <Field label={w.until} type="date" value={until} onInput={setUntil} />
          <fieldset class="sites">
            <legend>{w.may}</legend>
            {r.scopes.map((s) => (
              <Check
                key={s}
                label={w.scopes[s] ?? s}
                checked={scopes.includes(s)}
                onChange={(on) => setScopes(on ? [...scopes, s] : scopes.filter((x) => x !== s))}
              />
            ))}
          </fieldset>
          <SitesOf known={sites} chosen={at} onChange={setAt} />
          <Complaint error={d.error} />
          <Button kind="main" disabled={d.busy || name.trim() === "" || scopes.length === 0} onClick={make}>
            {w.make}
          </Button>
        </section>
      )}
    </>
  );
}
