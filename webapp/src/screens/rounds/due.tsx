import { useEffect, useState } from "preact/hooks";
import { ask } from "../../link/link";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { roundWords as w } from "../../words/rounds";
import { showDate, words } from "../../words/words";
import { Complaint, saying } from "../office/asking";
import { type Gauge, moveDay, type RegisterReply } from "../office/office-data";
import { localDay } from "../round/stops";

const pause = 250;
const ahead = 28;

/** DueList lists what is due by a day, a piece of the register at a time, and gives the chosen ones to be planned. */
export function DueList({ onPlan }: { onPlan: (ids: string[]) => void }) {
  const [by, setBy] = useState(moveDay(localDay(new Date()), ahead));
  const [search, setSearch] = useState("");
  const [list, setList] = useState<Gauge[] | undefined>();
  const [after, setAfter] = useState("");
  const [error, setError] = useState<string | undefined>();
  const [chosen, choose] = useState<ReadonlySet<string>>(new Set());
  const read = (from: string, here: () => boolean) =>
    ask(`/api/office/register?due=${encodeURIComponent(by)}&q=${encodeURIComponent(search)}&after=${encodeURIComponent(from)}`).then(
      (got) => {
        if (!here()) return;
        const reply = got as RegisterReply;
        setList((old) => (from === "" ? reply.instruments : [...(old ?? []), ...reply.instruments]));
        setAfter(reply.after);
        setError(undefined);
      },
      (e: unknown) => here() && setError(saying(e)),
    );
  useEffect(() => {
    let here = true;
    if (by === "") return;
    const t = setTimeout(() => void read("", () => here), pause);
    return () => {
      here = false;
      clearTimeout(t);
    };
  }, [by, search]);
  const toggle = (id: string) => {
    const next = new Set(chosen);
    if (!next.delete(id)) next.add(id);
    choose(next);
  };
  return (
    <section class="office-form" aria-label={w.dueTitle}>
      <h2>{w.dueTitle}</h2>
      <Field label={w.dueBy} type="date" value={by} onInput={setBy} {...(by === "" ? { error: w.need.date } : {})} />
      <Field label={w.dueSearch} type="search" value={search} onInput={setSearch} inputMode="search" />
      <Complaint error={error} />
      {list === undefined && error === undefined ? <p class="quiet">{words.shell.loading}</p> : null}
      {list ? <p role="status">{list.length === 0 && after === "" ? w.dueNone : w.dueCount(list.length, after !== "")}</p> : null}
      <div class="buttons">
        <Button kind="main" disabled={chosen.size === 0} onClick={() => onPlan([...chosen])}>
          {w.plan}
        </Button>
        <Button disabled={(list ?? []).length === 0} onClick={() => choose(new Set([...chosen, ...(list ?? []).map((g) => g.id)]))}>
          {w.chooseAll}
        </Button>
        <span>{w.chosen(chosen.size)}</span>
      </div>
      <ul class="rows due-list">
        {(list ?? []).map((g) => (
          <li key={g.id}>
            <label>
              <input type="checkbox" aria-label={w.choose(g.tag)} checked={chosen.has(g.id)} onChange={() => toggle(g.id)} />
              <span>
                <strong>{g.tag}</strong> {g.description}
                <br />
                <span class="small quiet">{[g.area, g.place].filter(Boolean).join(" · ")}</span>
              </span>
              <span class="small">{showDate(g.due)}</span>
            </label>
          </li>
        ))}
      </ul>
      {after === "" ? null : <Button onClick={() => void read(after, () => true)}>{w.dueMore}</Button>}
    </section>
  );
}
