import { useState } from "preact/hooks";
import { Button } from "../parts/button";
import type { Cause, Reading, Trial } from "../records/intake";
import { bringInWords as w, fieldCalled as called } from "../words/bring-in";

type Part = { trial: Trial; busy: boolean; onRead: (reading: Reading) => void };

/** Causes lists what is wrong, each cause with the correction for all of its rows. */
export function Causes({ trial, busy, onRead }: Part) {
  return (
    <>
      <h3>{w.causes}</h3>
      {trial.causes.length === 0 ? <p role="status">{w.nothing}</p> : null}
      <ul class="causes">
        {trial.causes.map((c) => (
          <li key={`${c.field} ${c.code} ${c.lost}`}>
            {c.code === "columns" ? (
              <p role="alert">{w.cause["columns"]}</p>
            ) : (
              <>
                <p>
                  <strong>{c.field === "" ? "" : `${called(c.field)}: `}</strong>
                  {w.cause[c.code] ?? c.says}.{" "}
                  <span class="quiet">
                    {c.code === "doubtful" ? w.worth(c.rows) : w.costs(c.rows, c.lost)};{" "}
                    {w.lines(c.lines, c.rows > c.lines.length)}
                  </span>
                </p>
                {["unread", "refused", "cells", "method"].includes(c.code) ? <p class="small quiet">{c.says}</p> : null}
                <Repair cause={c} trial={trial} busy={busy} onRead={onRead} />
              </>
            )}
          </li>
        ))}
      </ul>
    </>
  );
}

/** Repair corrects all rows of a cause at once. */
function Repair({ cause: c, trial, busy, onRead }: Part & { cause: Cause }) {
  const was = trial.reading;
  const one = (label: string, options: { [v: string]: string }, give: (v: string) => Reading) => (
    <fieldset class="repair">
      <legend>{label}</legend>
      {Object.entries(options).map(([v, shown]) => (
        <Button key={v} disabled={busy} onClick={() => onRead(give(v))}>
          {shown}
        </Button>
      ))}
    </fieldset>
  );
  switch (c.repair) {
    case "set":
      return <SetAll cause={c} was={was} busy={busy} onRead={onRead} />;
    case "value":
      return <ReadAs cause={c} was={was} busy={busy} onRead={onRead} />;
    case "decimal":
      return one(w.decimal, w.decimals, (decimal) => ({ ...was, decimal }));
    case "dates":
      return one(w.dates, w.dateOrders, (dates) => ({ ...was, dates }));
    case "twice":
      return one(w.twice, w.twices, (twice) => ({ ...was, twice }));
    case "serials":
      return one(w.serials, w.serialWays, (serials) => ({ ...was, serials }));
    case "moved":
      return one(w.moved, w.movedWays, (moved) => ({ ...was, moved }));
    case "sites":
      return (
        <Button disabled={busy} onClick={() => onRead({ ...was, new_sites: true })}>
          {`${w.sites}: ${c.values.map((v) => v.text).join(", ")}`}
        </Button>
      );
  }
  return null;
}

type Box = { cause: Cause; was: Reading; busy: boolean; onRead: (reading: Reading) => void };

/** SetAll gives one value to all rows that have none. */
function SetAll({ cause: c, was, busy, onRead }: Box) {
  const [typed, type] = useState(was.set?.[c.field] ?? (c.field === "unit" ? "bar" : ""));
  return (
    <form
      class="repair"
      onSubmit={(e) => {
        e.preventDefault();
        onRead({ ...was, set: { ...was.set, [c.field]: typed.trim() } });
      }}
    >
      <label>
        {w.set(c.rows)} <input value={typed} spellcheck={false} onInput={(e) => type(e.currentTarget.value)} />
      </label>
      <Button type="submit" disabled={busy || typed.trim() === ""}>
        {w.apply}
      </Button>
    </form>
  );
}

/** ReadAs asks, for each text found in cells, what it means. */
function ReadAs({ cause: c, was, busy, onRead }: Box) {
  const [typed, type] = useState<{ [cell: string]: string }>({});
  const said = Object.entries(typed).filter(([, v]) => v.trim() !== "");
  return (
    <form
      class="repair"
      onSubmit={(e) => {
        e.preventDefault();
        const values = { ...was.values?.[c.field], ...Object.fromEntries(said.map(([k, v]) => [k, v.trim()])) };
        onRead({ ...was, values: { ...was.values, [c.field]: values } });
      }}
    >
      {c.values.map((v) => (
        <label key={v.text}>
          {w.as(v.text, v.count)}{" "}
          <input
            value={typed[v.text] ?? ""}
            spellcheck={false}
            onInput={(e) => type({ ...typed, [v.text]: e.currentTarget.value })}
          />
        </label>
      ))}
      <Button type="submit" disabled={busy || said.length === 0}>
        {w.apply}
      </Button>
    </form>
  );
}
