import { useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { Field } from "../../parts/field";
import { machinesWords } from "../../words/machines";
import { showDateTime } from "../../words/words";
import { HookLog } from "./hook-log";
import { Secret } from "./secret";
import { atSites, SitesOf, useSites } from "./sites";

const all = machinesWords;
const w = all.hooks;

export type Hook = {
  id: string;
  name: string;
  url: string;
  events: string[];
  sites: string[];
  made: string;
  by: string;
  failing: string;
  ended: string;
  why: string;
};
type Reply = { hooks: Hook[]; kinds: string[] };

/** stateOf says how an endpoint is doing. */
function stateOf(h: Hook): string {
  if (h.ended !== "") return w.ended(h.why);
  return h.failing === "" ? w.good : w.failing(showDateTime(h.failing));
}

type RowProps = { hook: Hook; sites: [string, string][]; onKept: () => void };

function Row({ hook: h, sites, onKept }: RowProps) {
  const [sure, setSure] = useState(false);
  const d = useDoing();
  const act = (path: string, method: string) =>
    d.run(async () => {
      await ask(path, { method });
      onKept();
    });
  return (
    <tr>
      <th scope="row">
        {h.name}
        <br />
        <span class="small quiet">{h.url}</span>
      </th>
      <td>
        {h.events.length === 0 ? w.all : h.events.map((e) => <div key={e}>{w.kinds[e] ?? e}</div>)}
        {sites.length === 0 ? null : <div class="small quiet">{atSites(h.sites, sites)}</div>}
      </td>
      <td>{h.ended === "" && h.failing === "" ? stateOf(h) : <strong>{stateOf(h)}</strong>}</td>
      <td>
        {showDateTime(h.made)}
        <br />
        <span class="small quiet">{`${all.by} ${h.by}`}</span>
      </td>
      <td>
        {h.ended === "" ? null : (
          <Button
            disabled={d.busy}
            onClick={() => act(`/api/hooks/${h.id}/resume`, "POST")}
            label={`${w.resume}: ${h.name}`}
          >
            {w.resume}
          </Button>
        )}
        <Button
          disabled={d.busy}
          onClick={() => (sure ? act(`/api/hooks/${h.id}`, "DELETE") : setSure(true))}
          label={`${sure ? w.sure : w.remove}: ${h.name}`}
        >
          {sure ? w.sure : w.remove}
        </Button>
        <Complaint error={d.error} />
      </td>
    </tr>
  );
}

/**
 * Hooks lists the endpoints that are notified of events, with the messages sent, and adds an
 * endpoint.
 */
export function Hooks() {
  const asked = useAsk<Reply>("/api/hooks");
  const [name, setName] = useState("");
  const [url, setUrl] = useState("");
  const [events, setEvents] = useState<readonly string[]>([]);
  const [at, setAt] = useState<string[]>([]);
  const sites = useSites();
  const [secret, setSecret] = useState<string | undefined>();
  const d = useDoing();
  const make = () =>
    d.run(async () => {
      const made = (await send("/api/hooks", { name, url, events, sites: at })) as { secret: string };
      setSecret(made.secret);
      setName("");
      setUrl("");
      setEvents([]);
      setAt([]);
      asked.again();
    });
  const r = asked.reply;
  return (
    <>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      <Secret title={w.secret} of={secret} onDone={() => setSecret(undefined)} />
      {r?.hooks.length === 0 ? <p>{w.none}</p> : null}
      {r && r.hooks.length > 0 ? (
        <>
          <div class="wide-table">
            <table>
              <thead>
                <tr>
                  {[all.name, w.events, all.state, all.made, all.act].map((h) => (
                    <th key={h} scope="col">
                      {h}
                    </th>
                  ))}
                </tr>
              </thead>
              <tbody>
                {r.hooks.map((h) => (
                  <Row key={h.id} hook={h} sites={sites} onKept={asked.again} />
                ))}
              </tbody>
            </table>
          </div>
          <HookLog hooks={r.hooks} />
        </>
      ) : null}
      {r === undefined ? null : (
        <section class="office-form" aria-label={w.make}>
          <h2>{w.make}</h2>
          <Field label={all.name} value={name} onInput={setName} />
          <Field label={w.url} value={url} onInput={setUrl} hint={w.urlHint} />
          <fieldset class="sites">
            <legend>{w.events}</legend>
            {r.kinds.map((k) => (
              <Check
                key={k}
                label={w.kinds[k] ?? k}
                checked={events.includes(k)}
                onChange={(on) => setEvents(on ? [...events, k] : events.filter((x) => x !== k))}
              />
            ))}
            <p class="small quiet">{w.allHint}</p>
          </fieldset>
          <SitesOf known={sites} chosen={at} onChange={setAt} />
          <Complaint error={d.error} />
          <Button kind="main" disabled={d.busy || name.trim() === "" || url.trim() === ""} onClick={make}>
            {w.make}
          </Button>
        </section>
      )}
    </>
  );
}
