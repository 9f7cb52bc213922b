import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { isOverdue } from "../../wire/records";
import { roundWords as w } from "../../words/rounds";
import { showDate, words } from "../../words/words";
import { Complaint } from "../../nav/asking";
import { moveDay } from "../../records/office";
import { useRegister } from "../../nav/use-register";
import { orderLine } from "../../views/orders";
import { localDay } from "../../records/stops";

const ahead = 28;

export type DueProps = {
  title: string;
  doing: string;
  from?: string;
  have?: readonly string[];
  onPlan: (ids: string[]) => void;
};

/**
 * DueList lists what is due by a day, or the register if no day is given, piece by piece, and hands
 * the chosen instruments to the plan. It leaves out what a round already has.
 */
export function DueList({ title, doing, from: first, have, onPlan }: DueProps) {
  const [by, setBy] = useState(first ?? moveDay(localDay(new Date()), ahead));
  const [search, setSearch] = useState("");
  const { list, after, error, more } = useRegister(`due=${encodeURIComponent(by)}&q=${encodeURIComponent(search)}`);
  const [chosen, choose] = useState<ReadonlySet<string>>(new Set());
  const shown = (list ?? []).filter((g) => !have?.includes(g.id));
  const today = localDay(new Date());
  const toggle = (id: string) => {
    const next = new Set(chosen);
    if (!next.delete(id)) next.add(id);
    choose(next);
  };
  return (
    <section class="office-form" aria-label={title}>
      <h2>{title}</h2>
      <Field label={w.dueBy} type="date" value={by} onInput={setBy} hint={w.dueHint} />
      <Field label={w.dueSearch} type="search" value={search} onInput={setSearch} inputMode="search" />
      <Complaint error={error} />
      {list === undefined && error === undefined ? <p class="quiet">{words.shell.loading}</p> : null}
      {list ? (
        <p role="status">
          {list.length > 0 || after !== ""
            ? w.count(list.length, by !== "", after !== "")
            : by === ""
              ? w.foundNone
              : w.dueNone}
        </p>
      ) : null}
      <div class="buttons">
        <Button
          kind="main"
          disabled={chosen.size === 0}
          onClick={() => {
            onPlan([...chosen]);
            choose(new Set());
          }}
        >
          {doing}
        </Button>
        <Button disabled={shown.length === 0} onClick={() => choose(new Set([...chosen, ...shown.map((g) => g.id)]))}>
          {w.chooseAll}
        </Button>
        <span>{w.chosen(chosen.size)}</span>
      </div>
      <ul class="rows due-list">
        {shown.map((g) => (
          <li key={g.id}>
            <label>
              <input
                type="checkbox"
                aria-label={w.choose(g.tag)}
                checked={chosen.has(g.id)}
                onChange={() => toggle(g.id)}
              />
              <span>
                <strong>{g.tag}</strong> {g.description}
                <br />
                <span class="small quiet">{[g.area, g.place].filter(Boolean).join(" · ")}</span>
                {(g.orders ?? []).map((o) => (
                  <div key={o.number} class="small">
                    <strong>{orderLine(o)}</strong> {o.text}
                  </div>
                ))}
              </span>
              <span class="small">
                {g.due === "" ? "" : showDate(g.due)}
                {isOverdue(g.due, today) ? <strong>{` ${w.overdue}`}</strong> : null}
              </span>
            </label>
          </li>
        ))}
      </ul>
      {after === "" ? null : <Button onClick={() => void more()}>{w.dueMore}</Button>}
    </section>
  );
}
