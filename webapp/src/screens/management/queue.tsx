import { useEffect, useRef, useState } from "preact/hooks";
import { Later } from "../../parts/later";
import { isFailed, isVerdict, Mark } from "../../parts/mark";
import { deskWords } from "../../words/desk";
import { officeWords } from "../../words/office";
import { showDate, words } from "../../words/words";
import { useAsk, Waiting } from "../../nav/asking";
import { useNews } from "../../nav/fresh";
import { keepList } from "../../nav/list";
import type { Row } from "../../records/office";
import { localDay } from "../../records/stops";
import { Pick } from "./pick";

const w = deskWords.queue;
const loadUnseen = () => import("../../views/messages").then((m) => m.Unseen);

type Reply = {
  rows: Row[];
  found: number;
  all: number;
  /** Those of all that wait for their technician. */
  away: number;
  more: number;
  people: string[];
  areas: string[];
  states: string[];
};
type Look = { state: string; person: string; area: string; found: string; sort: string };

const usual: Look = { state: "", person: "", area: "", found: "", sort: "need" };
const kept = "gaugewright:queue";

function remembered(): Look {
  try {
    return { ...usual, ...(JSON.parse(sessionStorage.getItem(kept) ?? "{}") as Partial<Look>) };
  } catch {
    return usual;
  }
}

const found = ["fail", "conditional-fail", "undecided", "conditional-pass", "pass"] as const;

function verdict(v: string) {
  if (!isVerdict(v)) return null;
  return isFailed(v) ? (
    <span class="failed">
      <Mark verdict={v} />
    </span>
  ) : (
    <Mark verdict={v} />
  );
}

/** QueueScreen lists what waits for the office: failures first, or as a person sorts it. */
export function QueueScreen() {
  const [look, setLook] = useState(remembered);
  const asked = useAsk<Reply>(`/api/office/queue?${new URLSearchParams(look)}`);
  useNews(() => true, asked.again);
  const [last, setLast] = useState<Reply | undefined>();
  const reply = asked.reply ?? last;
  useEffect(() => {
    if (!asked.reply) return;
    setLast(asked.reply);
    keepList(asked.reply.rows.map(({ id, tag }) => ({ id, tag: tag || officeWords.day.unnamed })));
  }, [asked.reply]);
  const body = useRef<HTMLTableSectionElement>(null);
  const change = (part: Partial<Look>) => {
    const next = { ...look, ...part };
    try {
      sessionStorage.setItem(kept, JSON.stringify(next));
    } catch {
      // storage switched off: the filter is gone on return
    }
    setLook(next);
  };
  const key = (e: KeyboardEvent) => {
    const rows = [...(body.current?.rows ?? [])];
    const at = rows.findIndex((r) => e.target instanceof Node && r.contains(e.target));
    const step = e.key === "ArrowDown" ? 1 : e.key === "ArrowUp" ? -1 : 0;
    if (at < 0 || step === 0 || e.altKey || e.ctrlKey || e.metaKey) return;
    rows[at + step]?.querySelector<HTMLElement>("a")?.focus();
    e.preventDefault();
  };
  const all = ["", w.all] as const;
  const named = (list: string[] = []) => [all, ...list.map((x) => [x, x] as const)];
  return (
    <div class="desk-page">
      <h1>{w.title}</h1>
      <p class="small quiet">{w.hint}</p>
      <div class="picks">
        <Pick
          label={w.sort}
          value={look.sort}
          options={Object.entries(w.sorts)}
          onChange={(sort) => change({ sort })}
        />
        <Pick
          label={w.state}
          value={look.state}
          options={[all, ...(reply?.states ?? []).map((s) => [s, officeWords.status[s] ?? s] as const)]}
          onChange={(state) => change({ state })}
        />
        <Pick
          label={w.person}
          value={look.person}
          options={named(reply?.people)}
          onChange={(person) => change({ person })}
        />
        <Pick label={w.area} value={look.area} options={named(reply?.areas)} onChange={(area) => change({ area })} />
        <Pick
          label={w.found}
          value={look.found}
          options={[all, ...found.map((f) => [f, words.verdict[f]] as const)]}
          onChange={(f) => change({ found: f })}
        />
        <a class="day-link" href={`/office/day/${localDay(new Date())}`}>
          {w.day}
        </a>
      </div>
      <Later load={loadUnseen} props={{}} quiet />
      <Waiting asked={asked} />
      {reply ? (
        <>
          <p role="status">
            {reply.found === 0
              ? reply.all === 0
                ? w.none
                : w.noneSo
              : w.count(reply.all - reply.away, reply.away, reply.found === reply.all ? undefined : reply.found)}
          </p>
          {reply.rows.length > 0 ? (
            // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
            <section class="wide-table" tabIndex={0} aria-label={w.title}>
              <table class="visits-table queue" aria-busy={asked.reply === undefined}>
                <thead>
                  <tr>
                    <th scope="col">{w.instrument}</th>
                    <th scope="col">{w.found}</th>
                    <th scope="col" class="number">
                      {w.ofLimit}
                    </th>
                    <th scope="col">{w.left}</th>
                    <th scope="col">{w.check}</th>
                    <th scope="col">{w.area}</th>
                    <th scope="col">{w.person}</th>
                    <th scope="col">{w.signed}</th>
                    <th scope="col">{w.state}</th>
                  </tr>
                </thead>
                <tbody ref={body} onKeyDown={key}>
                  {reply.rows.map((r) => (
                    <QueueRow key={r.id} row={r} />
                  ))}
                </tbody>
              </table>
            </section>
          ) : null}
          {reply.more > 0 ? <p class="quiet">{w.more(reply.more)}</p> : null}
        </>
      ) : null}
    </div>
  );
}

function QueueRow({ row: r }: { row: Row }) {
  const what = r.changed.map((c) => officeWords.changed[c] ?? c).join(", ");
  return (
    <tr class={r.status}>
      <th scope="row">
        <a href={`/office/visit/${r.id}`}>{r.tag || officeWords.day.unnamed}</a>
        <span class="small quiet"> {r.description}</span>
      </th>
      <td>{verdict(r.as_found)}</td>
      <td class="number">{r.of_limit}</td>
      <td>{verdict(r.as_left)}</td>
      <td class="small">
        {r.attention
          .map((c) => `${officeWords.attention[c] ?? c}${what !== "" && /^after_[sa]/.test(c) ? `: ${what}` : ""}`)
          .join("; ")}
      </td>
      <td class="small">{r.area}</td>
      <td class="small">{r.person}</td>
      <td class="small number">{showDate(r.signed || r.started)}</td>
      <td class="small">{officeWords.status[r.status] ?? r.status}</td>
    </tr>
  );
}
