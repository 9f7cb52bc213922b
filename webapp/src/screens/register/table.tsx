import type { ComponentChildren } from "preact";
import { useRef } from "preact/hooks";
import { isVerdict, Mark } from "../../parts/mark";
import { showRange } from "../../records/facts";
import type { Column, Look } from "../../records/look";
import type { Gauge } from "../../records/office";
import { isOverdue } from "../../wire/records";
import { officeWords } from "../../words/office";
import { registerWords as w } from "../../words/register";
import { sentence, showDate } from "../../words/words";

/** Columns of numbers, which are aligned to the right. */
const figures: readonly Column[] = ["range", "interval_months", "due", "tested"];

function show(c: Column, g: Gauge, today: string): ComponentChildren {
  switch (c) {
    case "tag":
      return <a href={`/instrument/${g.id}`}>{g.tag || w.unnamed}</a>;
    case "kind":
      return w.kinds[g.kind] ?? g.kind;
    case "range":
      return showRange(g.range);
    case "interval_months":
      return g.interval_months > 0 ? w.months(g.interval_months) : "";
    case "due":
      if (g.due === "") return "–";
      return isOverdue(g.due, today, g.status === "in service") ? (
        <strong>
          {showDate(g.due)} <span class="small">{w.overdue}</span>
        </strong>
      ) : (
        showDate(g.due)
      );
    case "tested":
      return g.tested === "" ? "–" : showDate(g.tested);
    case "verdict":
      if (!isVerdict(g.verdict)) return "–";
      return g.verdict === "fail" ? (
        <span class="failed">
          <Mark verdict={g.verdict} />
        </span>
      ) : (
        <Mark verdict={g.verdict} />
      );
    case "status":
      return g.status === "" || g.status === "in service" ? sentence(g.status) : <strong>{sentence(g.status)}</strong>;
    default:
      return g[c];
  }
}

type Props = {
  rows: Gauge[];
  look: Look;
  /** Other rows are on their way. */
  busy: boolean;
  today: string;
  chosen: ReadonlyMap<string, string>;
  onLook: (look: Look) => void;
  /** Chooses rows, or removes the choice. */
  onChoose: (rows: Gauge[], on: boolean) => void;
  /** Turns the page by so many, and says whether there is one. */
  onTurn: (by: number) => boolean;
};

/** RegisterTable shows rows of the register. The arrow keys move from row to row. */
export function RegisterTable({ rows, look, busy, today, chosen, onLook, onChoose, onTurn }: Props) {
  const body = useRef<HTMLTableSectionElement>(null);
  const last = useRef(0);
  const all = rows.length > 0 && rows.every((g) => chosen.has(g.id));
  const focus = (n: number) => body.current?.querySelectorAll<HTMLElement>("td.c-tag a")[n]?.focus();
  const choose = (n: number, range: boolean) => {
    const g = rows[n];
    if (!g) return;
    const [from, to] = range ? [Math.min(n, last.current), Math.max(n, last.current)] : [n, n];
    onChoose(rows.slice(from, to + 1), !chosen.has(g.id));
    last.current = n;
  };
  const key = (e: KeyboardEvent) => {
    const row = e.target instanceof Element ? e.target.closest("tr") : null;
    const n = row ? [...(body.current?.rows ?? [])].indexOf(row) : -1;
    if (n < 0 || e.altKey || e.ctrlKey || e.metaKey) return;
    const box = e.target instanceof HTMLInputElement;
    if (e.key === "ArrowDown") focus(n + 1);
    else if (e.key === "ArrowUp") focus(n - 1);
    else if (e.key === " " && !box) choose(n, e.shiftKey);
    else if (e.key === "PageDown") onTurn(1);
    else if (e.key === "PageUp") onTurn(-1);
    else return;
    e.preventDefault();
  };
  const sort = (c: Column) => onLook({ ...look, sort: c, down: look.sort === c && !look.down });
  return (
    <table class="register" aria-label={w.title} aria-busy={busy}>
      <thead>
        <tr>
          <th class="c-box">
            <input type="checkbox" aria-label={w.choosePage} checked={all} onChange={() => onChoose(rows, !all)} />
          </th>
          {look.cols.map((c) => (
            <th
              key={c}
              class={`c-${c}${figures.includes(c) ? " number" : ""}`}
              aria-sort={look.sort === c ? (look.down ? "descending" : "ascending") : undefined}
            >
              <button type="button" aria-label={w.sort(w.column[c] ?? c)} onClick={() => sort(c)}>
                {w.column[c]}
                <span aria-hidden="true">{look.sort === c ? (look.down ? " ▼" : " ▲") : ""}</span>
              </button>
            </th>
          ))}
          <td class="c-changes" />
        </tr>
      </thead>
      <tbody ref={body} onKeyDown={key}>
        {rows.map((g, n) => (
          <tr key={g.id} class={chosen.has(g.id) ? "chosen" : ""}>
            <td class="c-box">
              <input
                type="checkbox"
                aria-label={w.choose(g.tag)}
                checked={chosen.has(g.id)}
                onClick={(e) => choose(n, e.shiftKey)}
              />
            </td>
            {look.cols.map((c) => (
              <td
                key={c}
                class={`c-${c}${figures.includes(c) ? " number" : ""}`}
                data-state={c === "tag" && g.status !== "in service" ? g.status : undefined}
              >
                {show(c, g, today)}
                {c === "tag" && (g.contested?.length ?? 0) > 0 ? (
                  <strong class="small"> {`${officeWords.attention["contested"]}: ${g.contested?.join(", ")}`}</strong>
                ) : null}
                {c === "tag" && g.damaged ? <strong class="small"> {officeWords.attention["damaged"]}</strong> : null}
              </td>
            ))}
            <td class="c-changes">
              <a class="small" href={`/office/history/${g.id}`} aria-label={`${officeWords.register.changes} ${g.tag}`}>
                {officeWords.register.changes}
              </a>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
