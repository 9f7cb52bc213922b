import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { useKind } from "../../store/hooks";
import { text } from "../../wire/records";
import { syncWords } from "../../words/sync";
import { Complaint, send, useDoing } from "../../nav/asking";

const w = syncWords.sites;

/** Sites shows the sites whose records a technician's phone gets, and changes them. */
export function Sites({ id, name, sites, onKept }: { id: string; name: string; sites: string[]; onKept: () => void }) {
  const all = useKind("site");
  const [chosen, setChosen] = useState<ReadonlySet<string> | undefined>();
  const d = useDoing();
  const called = (s: string) => {
    const known = all?.find((one) => one.id === s);
    return known ? text(known, "code") || text(known, "name") : s.slice(0, 6);
  };
  const shown = sites.length === 0 ? w.all : w.some(sites.map(called).join(", "));
  if (chosen === undefined) {
    return (
      <Button kind="quiet" label={`${w.label(name)}: ${shown}`} onClick={() => setChosen(new Set(sites))}>
        {shown}
      </Button>
    );
  }
  const choose = (s: string) => {
    const next = new Set(chosen);
    if (!next.delete(s)) next.add(s);
    setChosen(next);
  };
  const keep = () =>
    d.run(async () => {
      await send(`/api/users/${encodeURIComponent(id)}/sites`, { sites: [...chosen] }, "PUT");
      setChosen(undefined);
      onKept();
    });
  return (
    <fieldset class="sites">
      <legend>{w.label(name)}</legend>
      <p class="small quiet">{w.hint}</p>
      {all?.length === 0 ? <p>{w.none}</p> : null}
      {(all ?? []).map((s) => (
        <label key={s.id}>
          <input type="checkbox" checked={chosen.has(s.id)} onChange={() => choose(s.id)} />
          {[text(s, "code"), text(s, "name")].filter(Boolean).join(" ")}
        </label>
      ))}
      <Complaint error={d.error} />
      <div class="buttons">
        <Button kind="main" disabled={d.busy} onClick={keep}>
          {w.keep}
        </Button>
        <Button onClick={() => setChosen(undefined)}>{w.leave}</Button>
      </div>
    </fieldset>
  );
}
