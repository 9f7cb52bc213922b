import { useMemo, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { useKind } from "../../store/hooks";
import { text, value } from "../../wire/records";
import { words } from "../../words/words";
import { matches, showRange } from "../instrument/facts";
import { Scanner } from "./scanner";

const most = 40;

/** FindScreen looks through the instruments on this device, by typed words or by a scanned tag. */
export function FindScreen() {
  const all = useKind("instrument");
  const [search, setSearch] = useState("");
  const [scanning, setScanning] = useState(false);
  const found = useMemo(
    () =>
      (all ?? [])
        .filter((i) => search.trim() === "" || matches(i, search.trim()))
        .sort((a, b) => text(a, "tag").localeCompare(text(b, "tag"), undefined, { numeric: true })),
    [all, search],
  );
  const w = words.find;
  return (
    <>
      <h1>{w.title}</h1>
      {scanning ? (
        <Scanner onEnd={() => setScanning(false)} />
      ) : (
        <Button kind="main" size="tall" wide onClick={() => setScanning(true)}>
          {w.scan}
        </Button>
      )}
      <Field label={w.label} type="search" value={search} onInput={setSearch} inputMode="search" />
      {all === undefined ? <p class="quiet">{words.shell.loading}</p> : null}
      <p class="small quiet" role="status">
        {all === undefined ? "" : all.length === 0 ? w.empty : found.length === 0 ? w.none : w.count(found.length)}
      </p>
      <ul class="rows">
        {found.slice(0, most).map((i) => (
          <li key={i.id}>
            <a href={`/instrument/${i.id}`}>
              <span>
                <span class="lead">{text(i, "tag")}</span> <span>{text(i, "description")}</span>
                <br />
                <span class="small quiet">{[text(i, "serial"), text(i, "area"), text(i, "place")].filter(Boolean).join(" · ")}</span>
              </span>
              <span class="side small quiet">{showRange(value(i, "range"))}</span>
            </a>
          </li>
        ))}
      </ul>
      {found.length > most ? <p class="quiet">{w.more(found.length - most)}</p> : null}
    </>
  );
}
