import { useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import { machinesWords } from "../../words/machines";
import { showDateTime } from "../../words/words";
import { Secret } from "./secret";
import { atSites, useSites } from "./sites";

const all = machinesWords;
const w = all.calendars;

type Feed = {
  id: string;
  name: string;
  person: string;
  site: string;
  due: boolean;
  rounds: boolean;
  language: string;
  made: string;
  by: string;
};

function Row({ feed: f, site, onEnded }: { feed: Feed; site: string; onEnded: () => void }) {
  const d = useDoing();
  const end = () =>
    d.run(async () => {
      await ask(`/api/feeds/${f.id}`, { method: "DELETE" });
      onEnded();
    });
  const what = [
    f.rounds ? w.of(f.person || w.everybody) : "",
    f.due ? w.dueOf(f.site === "" ? w.everywhere : site) : "",
  ].filter(Boolean);
  return (
    <tr>
      <th scope="row">{f.name}</th>
      <td>{what.join(", ")}</td>
      <td>{all.languages[f.language] ?? f.language}</td>
      <td>
        {showDateTime(f.made)}
        <br />
        <span class="small quiet">{`${all.by} ${f.by}`}</span>
      </td>
      <td>
        <Button disabled={d.busy} onClick={end} label={`${w.end}: ${f.name}`}>
          {w.end}
        </Button>
        <Complaint error={d.error} />
      </td>
    </tr>
  );
}

/** Calendars lists the calendar links, and makes and ends them. */
export function Calendars() {
  const asked = useAsk<{ feeds: Feed[] }>("/api/feeds");
  const people = useAsk<{ people: { id: string; name: string }[] }>("/api/office/people");
  const sites = useSites();
  const [name, setName] = useState("");
  const [rounds, setRounds] = useState(true);
  const [due, setDue] = useState(false);
  const [person, setPerson] = useState("");
  const [site, setSite] = useState("");
  const [language, setLanguage] = useState("en");
  const [secret, setSecret] = useState<string | undefined>();
  const d = useDoing();
  const make = () =>
    d.run(async () => {
      const body = { name, rounds, due, person: rounds ? person : "", site: due ? site : "", language };
      const made = (await send("/api/feeds", body)) as { address: string };
      setSecret(made.address);
      setName("");
      asked.again();
    });
  const list = asked.reply?.feeds;
  return (
    <>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      <Secret title={w.address} of={secret} onDone={() => setSecret(undefined)} />
      {list?.length === 0 ? <p>{w.none}</p> : null}
      {list && list.length > 0 ? (
        <div class="wide-table">
          <table>
            <thead>
              <tr>
                {[all.name, w.what, w.language, all.made, all.act].map((h) => (
                  <th key={h} scope="col">
                    {h}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {list.map((f) => (
                <Row key={f.id} feed={f} site={atSites([f.site], sites)} onEnded={asked.again} />
              ))}
            </tbody>
          </table>
        </div>
      ) : null}
      <section class="office-form" aria-label={w.make}>
        <h2>{w.make}</h2>
        <Field label={all.name} value={name} onInput={setName} />
        <fieldset class="sites">
          <legend>{w.what}</legend>
          <Check label={w.rounds} checked={rounds} onChange={setRounds} />
          <Check label={w.due} checked={due} onChange={setDue} />
        </fieldset>
        {rounds ? (
          <Pick
            label={w.whose}
            value={person}
            options={[["", w.everybody], ...(people.reply?.people ?? []).map((p) => [p.id, p.name] as const)]}
            onChange={setPerson}
          />
        ) : null}
        {due && sites.length > 0 ? (
          <Pick label={w.site} value={site} options={[["", w.everywhere], ...sites]} onChange={setSite} />
        ) : null}
        <Pick label={w.language} value={language} options={Object.entries(all.languages)} onChange={setLanguage} />
        <Complaint error={d.error} />
        <Button kind="main" disabled={d.busy || name.trim() === "" || !(rounds || due)} onClick={make}>
          {w.make}
        </Button>
      </section>
    </>
  );
}
