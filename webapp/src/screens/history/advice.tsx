import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Pick } from "../../parts/pick";
import type { Advice, Advices, Figures } from "../../records/figures-reply";
import { showShare } from "../../records/budget";
import { historyWords as w } from "../../words/history";
import { showDate, showDecimal } from "../../words/words";
import { Decide, open } from "./decide";
import { Reading, useRead } from "./waiting";

const piece = 100;
const actions = ["reduce", "sooner", "extend", "keep", "decided"];

type Props = { figures: Figures; group: string; onGroup: (name: string) => void; onDone: () => void };

/**
 * AdviceTable lists the advice on intervals for a decision, the instruments most likely out of
 * limits first.
 */
export function AdviceTable({ figures, group, onGroup, onDone }: Props) {
  const first = actions.find((a) => (figures.actions[a] ?? 0) > 0) ?? "";
  const [action, setAction] = useState(group === "" ? first : "");
  const [most, setMost] = useState(piece);
  const [chosen, choose] = useState<string[]>([]);
  const [said, say] = useState("");
  const asked = useRead<Advices>(`/api/office/advice?action=${action}&group=${encodeURIComponent(group)}&most=${most}`);
  const list = asked.reply;
  const rows = list?.rows ?? [];
  const can = rows.filter(open);
  const mine = can.filter((a) => chosen.includes(a.id));
  const counted = (a: string): [string, string] => [
    a,
    a === "" || group !== "" ? (w.actions[a] ?? a) : w.counted(w.actions[a] ?? a, figures.actions[a] ?? 0),
  ];
  return (
    <section>
      <p class="quiet figures-text">{w.aim}</p>
      <div class="office-form">
        <Pick
          label={w.show}
          value={action}
          options={["", ...actions].map(counted)}
          onChange={(a) => {
            setAction(a);
            choose([]);
          }}
        />
      </div>
      {group === "" ? null : (
        <p>
          {group.split("\n").join(" · ")}{" "}
          <button type="button" class="link" onClick={() => onGroup("")}>
            {w.back}
          </button>
        </p>
      )}
      {!list || list.reading ? <Reading asked={asked} /> : null}
      <p role="status">{said}</p>
      {list && !list.reading && rows.length === 0 ? <p>{w.none}</p> : null}
      {rows.length > 0 ? (
        <>
          <Rows rows={rows} chosen={chosen} onChoose={choose} />
          {list && list.found > rows.length ? <Button onClick={() => setMost(most + piece)}>{w.more}</Button> : null}
        </>
      ) : null}
      {can.length > 0 ? (
        <Decide
          rows={mine}
          all={can.length === mine.length ? undefined : () => choose(can.map((a) => a.id))}
          onDone={(n) => {
            say(`${w.done(n)} ${w.undo}`);
            choose([]);
            asked.again();
            onDone();
          }}
        />
      ) : null}
    </section>
  );
}

type RowsProps = { rows: Advice[]; chosen?: string[]; onChoose?: (ids: string[]) => void };

/** Rows shows advice in rows. Each leads to its instrument. */
function Rows({ rows, chosen, onChoose }: RowsProps) {
  return (
    <div class="wide-table">
      <table class="register figures">
        <thead>
          <tr>
            {onChoose ? <td class="c-box" /> : null}
            <th scope="col">{w.columns.tag}</th>
            <th scope="col">{w.columns.area}</th>
            <th scope="col" class="number">
              {w.columns.found}
            </th>
            <th scope="col" class="number">
              {w.columns.interval}
            </th>
            <th scope="col" class="number">
              {w.columns.due}
            </th>
            <th scope="col" class="number">
              {w.columns.chance}
            </th>
            <th scope="col">{w.columns.advice}</th>
            <th scope="col" class="number">
              {w.columns.after}
            </th>
            <th scope="col">{w.columns.why}</th>
          </tr>
        </thead>
        <tbody>
          {rows.map((a) => (
            <tr key={a.id} class={chosen?.includes(a.id) ? "chosen" : ""}>
              {onChoose ? (
                <td class="c-box">
                  {open(a) ? (
                    <input
                      type="checkbox"
                      aria-label={w.choose(a.tag)}
                      checked={chosen?.includes(a.id) ?? false}
                      onChange={(e) =>
                        onChoose(
                          e.currentTarget.checked
                            ? [...(chosen ?? []), a.id]
                            : (chosen ?? []).filter((x) => x !== a.id),
                        )
                      }
                    />
                  ) : null}
                </td>
              ) : null}
              <td class="c-tag">
                <a href={`/office/figures/${a.id}`}>{a.tag}</a>
              </td>
              <td>{a.area}</td>
              <td class="number">{`${a.out} / ${a.tests}`}</td>
              <td class="number">{a.interval}</td>
              <td class="number">{a.due === "" ? "" : showDate(a.due)}</td>
              <td class="number">{a.chance === null ? "" : showShare(a.chance)}</td>
              <td>{w.advise(a.action, a.months, showDate(a.new_due))}</td>
              <td class="number">{a.new_chance === null || a.action === "decided" ? "" : showShare(a.new_chance)}</td>
              <td class="small">{w.reasons[a.reason]}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** Worst lists the instruments that were most often out of limits as found. */
export function Worst({ figures }: { figures: Figures }) {
  return figures.worst.length === 0 ? <p>{w.none}</p> : <Rows rows={figures.worst} />;
}

type GroupsProps = { figures: Figures; onAdvice: (group: string) => void; onTests: (group: string) => void };

/** Groups lists what the results of similar instruments say about their interval. */
export function Groups({ figures, onAdvice, onTests }: GroupsProps) {
  if (figures.groups.length === 0) return <p>{w.none}</p>;
  const whole = (x: number | null) => (x === null ? "" : showDecimal(x.toFixed(x < 10 ? 1 : 0)));
  return (
    <div class="wide-table">
      <table class="register figures">
        <thead>
          <tr>
            <th scope="col">{w.columns.model}</th>
            <th scope="col" class="number">
              {w.columns.members}
            </th>
            <th scope="col" class="number">
              {w.columns.interval}
            </th>
            <th scope="col" class="number">
              {w.columns.results}
            </th>
            <th scope="col" class="number">
              {w.columns.chance}
            </th>
            <th scope="col">{w.columns.bounds}</th>
            <th scope="col">{w.columns.advice}</th>
            {actions.slice(0, 3).map((a) => (
              <th key={a} scope="col" class="number">
                {w.actions[a]}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {figures.groups.map((g) => (
            <tr key={g.group}>
              <td>
                <button type="button" class="link" onClick={() => onAdvice(g.group)}>
                  {g.group.split("\n").filter(Boolean).join(" · ")}
                </button>
              </td>
              <td class="number">{g.members}</td>
              <td class="number">{g.interval}</td>
              <td class="number">
                <button type="button" class="link" onClick={() => onTests(g.group)}>
                  {`${g.of - g.out} / ${g.of}`}
                </button>
              </td>
              <td class="number">{g.chance === null ? "" : showShare(g.chance)}</td>
              <td>{g.low === null ? "" : w.monthsRange(whole(g.low), whole(g.high))}</td>
              <td>{w.advise(g.action, g.months, "")}</td>
              {actions.slice(0, 3).map((a) => (
                <td key={a} class="number">
                  {g.advised[a] ?? 0}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
