import { useEffect, useState } from "preact/hooks";
import { LinkError } from "../../link/link";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { isVerdict, Mark } from "../../parts/mark";
import { language } from "../../words/language";
import { deskWords } from "../../words/desk";
import { visitWords } from "../../words/visit";
import { sentence, showDate } from "../../words/words";
import { Complaint, save, saying, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { Pick } from "./pick";

const w = deskWords.lookback;

export type LookbackRow = {
  id: string;
  standard: string;
  name: string;
  since: string;
  reason: string;
  at: string;
  by: string;
  found: { runs: number; changed: number; suspect: number; faults: number } | null;
  progress: { state: string; done: number; of: number; error: string } | null;
  touched: number;
  undecided: number;
  open: number;
  overdue: number;
  closed: boolean;
};
type Run = {
  visit: string;
  label: string;
  started: string;
  before: string;
  after: string;
  of_limit_before?: string;
  of_limit_after?: string;
  fault?: string;
};
type Touched = {
  id: string;
  tag: string;
  serial: string;
  description: string;
  runs: Run[];
  way: string;
  reason: string;
  owned: string;
  due: string;
  overdue: boolean;
  closed: boolean;
  note: string;
  closed_by: string;
  closed_at: string;
};
type Reply = {
  row: LookbackRow;
  instruments: Touched[];
  unread: { visit: string; tag: string; started: string; why: string }[];
  people: { id: string; name: string }[];
};

/** stateOf gives the state of a look-back. */
function stateOf(l: LookbackRow): string {
  if (l.found === null)
    return l.progress?.state === "running" || l.progress?.state === "failed" ? l.progress.state : "ended";
  return l.closed ? "closed" : "open";
}

/** LookbacksScreen is the list of the look-backs, or one of them. */
export function LookbacksScreen({ id }: { id: string | undefined }) {
  return id === undefined ? <List /> : <One key={id} id={id} />;
}

function List() {
  const asked = useAsk<{ lookbacks: LookbackRow[] }>("/api/office/lookbacks");
  const list = asked.reply?.lookbacks;
  return (
    <div class="desk-page">
      <h1>{w.title}</h1>
      <p class="quiet">{w.hint}</p>
      <Waiting asked={asked} />
      {list?.length === 0 ? <p>{w.none}</p> : null}
      {list && list.length > 0 ? (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
        <section class="wide-table" tabIndex={0} aria-label={w.title}>
          <table class="visits-table">
            <thead>
              <tr>
                {[w.standard, w.state, w.opened, w.since, w.reason].map((h) => (
                  <th key={h} scope="col">
                    {h}
                  </th>
                ))}
                {[w.touched, w.undecided, w.notClosed].map((h) => (
                  <th key={h} scope="col" class="number">
                    {h}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {list.map((l) => (
                <tr key={l.id}>
                  <th scope="row">
                    <a href={`/office/lookbacks/${l.id}`}>{l.name}</a>
                  </th>
                  <td>
                    <span class={`badge ${stateOf(l)}`}>{w.states[stateOf(l)]}</span>
                  </td>
                  <td class="small">{`${showDate(l.at)}, ${l.by}`}</td>
                  <td class="small">{showDate(l.since)}</td>
                  <td class="small">{l.reason}</td>
                  <td class="number">{l.touched}</td>
                  <td class="number">{l.undecided}</td>
                  <td class="number">{l.overdue > 0 ? `${l.open} (${w.overdue(l.overdue)})` : l.open}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      ) : null}
    </div>
  );
}

const pause = 500;

function explain(e: unknown): string {
  if (e instanceof LinkError && e.code === "nobody") return w.nobody;
  return e instanceof LinkError && e.code === "undecided" ? w.undecidedFirst : saying(e);
}

function One({ id }: { id: string }) {
  const path = `/api/office/lookbacks/${id}`;
  const asked = useAsk<Reply>(path);
  const d = useDoing();
  const r = asked.reply;
  const running = r?.row.found === null && r.row.progress?.state === "running";
  const [chosen, choose] = useState<ReadonlySet<string>>(new Set());
  useEffect(() => {
    if (!running) return;
    const t = setTimeout(asked.again, pause);
    return () => clearTimeout(t);
  }, [r]);
  const take = (name: string) =>
    d.run(() => save(`${path}/${name}?language=${language}`, `standard-was-out-${name}`), explain);
  const again = () =>
    d.run(async () => {
      await send(`${path}/begin`, {});
      asked.again();
    });
  if (!r) return <Waiting asked={asked} />;
  const { row } = r;
  const toggle = (one: string) => {
    const next = new Set(chosen);
    if (!next.delete(one)) next.add(one);
    choose(next);
  };
  const state = stateOf(row);
  return (
    <div class="desk-page">
      <h1>
        {w.standard} <a href={`/office/standard/${row.standard}`}>{row.name}</a>{" "}
        <span class={`badge ${state}`}>{w.states[state]}</span>
      </h1>
      <p>
        {`${w.since} ${showDate(row.since)}: ${row.reason}`}{" "}
        <span class="small quiet">{`${row.by}, ${showDate(row.at)}`}</span>
      </p>
      <Waiting asked={asked} />
      {row.found === null ? (
        <div role="status">
          {row.progress ? (
            <>
              <p>{w.progress(row.progress.done, row.progress.of)}</p>
              <progress value={row.progress.done} max={Math.max(1, row.progress.of)} aria-label={w.states["running"]} />
              {row.progress.error === "" ? null : <p class="complaint">{row.progress.error}</p>}
            </>
          ) : null}
          {running ? null : (
            <Button disabled={d.busy} onClick={again}>
              {w.again}
            </Button>
          )}
        </div>
      ) : (
        <>
          <p role="status">{w.counts(row.found.runs, row.found.changed, row.found.suspect, row.found.faults)}</p>
          <div class="report-bar">
            <Button onClick={() => take("report.pdf")}>{w.report}</Button>
            <Button onClick={() => take("letters.pdf")}>{w.letters}</Button>
            <Button onClick={() => take("report.csv")}>{w.csv}</Button>
            <Button onClick={() => take("report.xlsx")}>{w.xlsx}</Button>
          </div>
          <Complaint error={d.error} />
          <div class="office-visit">
            <div>
              <h2>{w.instruments}</h2>
              {r.instruments.length === 0 ? (
                <p>{w.noInstruments}</p>
              ) : (
                <Instruments list={r.instruments} chosen={chosen} onToggle={toggle} onAll={choose} />
              )}
              {r.unread.length > 0 ? (
                <>
                  <h2>{w.unread}</h2>
                  <ul class="plain-list">
                    {r.unread.map((u) => (
                      <li key={u.visit}>
                        <a href={`/office/visit/${u.visit}`}>{u.tag || u.visit.slice(0, 6)}</a> {showDate(u.started)}{" "}
                        <span class="small quiet">{u.why}</span>
                      </li>
                    ))}
                  </ul>
                </>
              ) : null}
            </div>
            {r.instruments.length > 0 ? (
              <aside>
                <Decide path={path} people={r.people} chosen={chosen} onDone={asked.again} />
              </aside>
            ) : null}
          </div>
        </>
      )}
    </div>
  );
}

const shown = (v: string) => (isVerdict(v) ? <Mark verdict={v} /> : v);

function Instruments({
  list,
  chosen,
  onToggle,
  onAll,
}: {
  list: Touched[];
  chosen: ReadonlySet<string>;
  onToggle: (id: string) => void;
  onAll: (all: ReadonlySet<string>) => void;
}) {
  const all = list.every((x) => chosen.has(x.id));
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
    <section class="wide-table" tabIndex={0} aria-label={w.instruments}>
      <table class="visits-table touched">
        <thead>
          <tr>
            <th class="c-box">
              <input
                type="checkbox"
                aria-label={w.chooseAll}
                checked={all}
                onChange={() => onAll(new Set(all ? [] : list.map((x) => x.id)))}
              />
            </th>
            <th scope="col">{w.instrument}</th>
            <th scope="col">{w.results}</th>
            <th scope="col">{w.decision}</th>
            <th scope="col">{w.owner}</th>
          </tr>
        </thead>
        <tbody>
          {list.map((x) => (
            <tr key={x.id} class={x.closed ? "gone" : ""}>
              <td class="c-box">
                <input
                  type="checkbox"
                  aria-label={w.choose(x.tag)}
                  checked={chosen.has(x.id)}
                  onChange={() => onToggle(x.id)}
                />
              </td>
              <th scope="row">
                <a href={`/instrument/${x.id}`}>{x.tag || x.serial || x.id.slice(0, 6)}</a>
                <span class="small quiet"> {x.description}</span>
              </th>
              <td class="small">
                {x.runs.map((r) => (
                  <div key={`${r.visit} ${r.label} ${r.before}`}>
                    <a href={`/office/visit/${r.visit}`}>{showDate(r.started)}</a>{" "}
                    {visitWords.run.label[r.label] ?? r.label}:{" "}
                    {r.fault ? (
                      `${w.notCalculated}: ${sentence(r.fault)}`
                    ) : (
                      <>
                        {shown(r.before)} {"\u2192"} {shown(r.after)}{" "}
                        <span class="quiet">{`${r.of_limit_before ?? ""} \u2192 ${r.of_limit_after ?? ""} ${w.ofLimit}`}</span>
                      </>
                    )}
                  </div>
                ))}
              </td>
              <td class="small">
                {x.way === "" ? <strong>{w.notDecided}</strong> : (w.ways[x.way] ?? x.way)}
                {x.reason === "" ? null : <div class="quiet">{x.reason}</div>}
                {x.closed ? (
                  <div>
                    {w.closed(x.closed_by, showDate(x.closed_at))}: {x.note}
                  </div>
                ) : null}
              </td>
              <td class="small">
                {x.owned}
                {x.due === "" ? null : (
                  <div class="number">{x.overdue ? <strong>{showDate(x.due)}</strong> : showDate(x.due)}</div>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Decide({
  path,
  people,
  chosen,
  onDone,
}: {
  path: string;
  people: { id: string; name: string }[];
  chosen: ReadonlySet<string>;
  onDone: () => void;
}) {
  const [way, setWay] = useState<string | undefined>();
  const [reason, setReason] = useState("");
  const [owner, setOwner] = useState("");
  const [due, setDue] = useState("");
  const [note, setNote] = useState("");
  const d = useDoing();
  const instruments = [...chosen];
  const go = (part: string, body: object) =>
    d.run(async () => {
      await send(`${path}/${part}`, { instruments, ...body });
      onDone();
    }, explain);
  return (
    <section class="decide" aria-label={w.decision}>
      <h2>{w.decision}</h2>
      <p role="status">{w.chosen(chosen.size)}</p>
      <Choice label={w.way} value={way} options={Object.entries(w.ways)} onChange={setWay} />
      <Field label={w.why} value={reason} onInput={setReason} lines={2} />
      <Pick
        label={w.ownerOf}
        value={owner}
        options={[["", "\u2013"], ...people.map((p) => [p.id, p.name] as const)]}
        onChange={setOwner}
      />
      <Field label={w.by} type="date" value={due} onInput={setDue} />
      <Button
        kind="main"
        wide
        disabled={d.busy || chosen.size === 0 || way === undefined}
        onClick={() => go("decide", { way, reason, owner, due })}
      >
        {w.decide}
      </Button>
      <Field label={w.note} value={note} onInput={setNote} lines={2} />
      <Button wide disabled={d.busy || chosen.size === 0} onClick={() => go("close", { note })}>
        {w.close}
      </Button>
      <Complaint error={d.error} />
    </section>
  );
}
