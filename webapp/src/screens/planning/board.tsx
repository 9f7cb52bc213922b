import { useEffect, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import { navigate } from "../../nav/route";
import type { Board, BoardRound } from "../../records/planning-reply";
import { moveDay } from "../../records/office";
import { localDay } from "../../records/stops";
import { methodsWords } from "../../words/methods";
import { planningWords as w } from "../../words/planning";
import { showDate, showDecimal } from "../../words/words";

const hours = (minutes: number) => showDecimal((minutes / 60).toFixed(1));

/** A card on the board: a round, or a proposal with its index among the proposals. */
type Card = BoardRound & { key: string };

/** BoardPart shows a week of rounds, and moves and makes them. */
export function BoardPart({ first }: { first: string | undefined }) {
  const today = localDay(new Date());
  const [date, setDate] = useState(first ?? today);
  const asked = useAsk<Board>(`/api/office/board?date=${date}`);
  const [ideas, setIdeas] = useState<BoardRound[]>([]);
  const [said, say] = useState("");
  const [held, hold] = useState("");
  const d = useDoing();
  const board = asked.reply;
  useEffect(() => setIdeas(board?.ideas ?? []), [board]);
  if (!board) return <Waiting asked={asked} />;
  const cards: Card[] = [
    ...board.rounds.map((r) => ({ ...r, key: r.id })),
    ...ideas.map((r, n) => ({ ...r, key: `idea ${n}` })),
  ];
  const move = (key: string, day: string, person: string) => {
    const one = cards.find((c) => c.key === key);
    if (!one || (one.date === day && one.person === person)) return;
    hold(key);
    if (one.id === "") {
      const at = Number(key.slice("idea ".length));
      setIdeas(ideas.map((r, n) => (n === at ? { ...r, date: day, person } : r)));
      return;
    }
    d.run(async () => {
      await send(`/api/office/board/${one.id}`, { date: day, person, shown: `${one.date} ${one.person}` }, "PUT");
      say(w.moved(one.title));
      asked.again();
    });
  };
  const placed = ideas.filter((r) => r.date !== "");
  const homeless = cards.filter((c) => c.date === "");
  const make = () =>
    d.run(async () => {
      const rounds = placed.map(({ date: day, person, title, stops }) => ({ date: day, person, title, stops }));
      await send("/api/office/board", { rounds });
      say(w.made(placed.length));
      asked.again();
    });
  const key = (e: KeyboardEvent, c: Card) => {
    if (!e.altKey) return;
    const x = { ArrowLeft: -1, ArrowRight: 1 }[e.key] ?? 0;
    const y = { ArrowUp: -1, ArrowDown: 1 }[e.key] ?? 0;
    if (x === 0 && y === 0) return;
    e.preventDefault();
    const day = board.days[board.days.indexOf(c.date) + x] ?? board.days[0];
    const people = board.people.map((p) => p.id);
    const person = people[people.indexOf(c.person) + y] ?? people[0];
    if (day !== undefined && person !== undefined) move(c.key, day, person);
  };
  const at = (day: string, person: string) => (
    <Cell
      cards={cards.filter((c) => c.date === day && c.person === person)}
      held={held}
      most={board.minutes}
      onKey={key}
    />
  );
  const mine = board.rounds.filter((r) => r.date === today);
  return (
    <section>
      <div class="day-bar">
        <Button label={w.earlier} onClick={() => setDate(moveDay(board.start, -7))}>
          {"\u2190"}
        </Button>
        <h2>{w.weekOf(showDate(board.start), showDate(board.days.at(-1) ?? board.start))}</h2>
        <Button label={w.later} onClick={() => setDate(moveDay(board.start, 7))}>
          {"\u2192"}
        </Button>
        <Button onClick={() => setDate(today)}>{w.thisWeek}</Button>
        {placed.length > 0 ? (
          <Button kind="main" disabled={d.busy} onClick={make}>
            {w.make(placed.length)}
          </Button>
        ) : null}
      </div>
      <p role="status">{said}</p>
      <Complaint error={d.error} />
      {board.clashes.map((c) => (
        <p key={`${c.ids[0]} ${c.ids[1]} ${c.standard}`} class="clash">
          <strong>{w.clash(c.standard, showDate(c.date), c.rounds[0], c.rounds[1])}</strong>{" "}
          {c.free === "" ? w.notFree : w.free(showDate(c.free))}
        </p>
      ))}
      {board.away.length > 0 ? <p>{w.awayNow(board.away.join(", "))}</p> : null}
      {board.days.includes(today) ? (
        <p>
          <strong>{w.today}:</strong>{" "}
          {mine.length === 0
            ? w.nobody
            : board.people
                .map((p) => {
                  const r = mine.find((x) => x.person === p.id);
                  if (!r) return w.off(p.name);
                  return `${p.name}: ${[w.doneOf(r.done, r.stops.length), r.now === "" ? "" : w.now(r.now)].filter(Boolean).join(", ")}`;
                })
                .join(" · ")}
        </p>
      ) : null}
      {board.people.length === 0 ? (
        <p>{w.noPeople}</p>
      ) : (
        <div class="wide-table">
          <table class="board" aria-label={w.board}>
            <thead>
              <tr>
                <th scope="col">{w.person}</th>
                {board.days.map((day) => (
                  <th key={day} scope="col" aria-current={day === today ? "date" : undefined}>
                    {showDate(day)}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {board.people.map((p) => (
                <tr key={p.id}>
                  <th scope="row">{p.name}</th>
                  {board.days.map((day) => (
                    <td
                      key={day}
                      onDragOver={(e) => e.preventDefault()}
                      onDrop={(e) => {
                        e.preventDefault();
                        move(e.dataTransfer?.getData("text/plain") ?? "", day, p.id);
                      }}
                    >
                      {at(day, p.id)}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {homeless.length > 0 ? (
        <>
          <p>{w.homeless}</p>
          <Cell cards={homeless} held={held} most={board.minutes} onKey={key} />
        </>
      ) : null}
      <p class="quiet small">{w.keys}</p>
    </section>
  );
}

type CellProps = { cards: Card[]; held: string; most: number; onKey: (e: KeyboardEvent, c: Card) => void };

function Cell({ cards, held, most, onKey }: CellProps) {
  const sum = cards.reduce((n, c) => n + c.minutes, 0);
  return (
    <>
      {cards.map((c) => (
        <button
          key={c.key}
          type="button"
          class={c.id === "" ? "card idea" : "card"}
          draggable
          ref={(e) => {
            if (c.key === held && document.activeElement === document.body) e?.focus();
          }}
          onDragStart={(e) => e.dataTransfer?.setData("text/plain", c.key)}
          onKeyDown={(e) => onKey(e, c)}
          onClick={() => (c.id === "" ? undefined : navigate(`/office/rounds/${c.id}`))}
          title={(c.tags ?? []).join(", ")}
        >
          <strong>{c.title}</strong>
          <span class="small">
            {[
              c.id === "" ? w.idea : c.done > 0 ? w.doneOf(c.done, c.stops.length) : "",
              w.stops(c.stops.length),
              w.hours(hours(c.minutes)),
              (c.standards ?? []).join(", "),
              c.urgent > 0 ? w.urgent(c.urgent) : "",
            ]
              .filter(Boolean)
              .join(" · ")}
          </span>
          {(c.unfit ?? []).length > 0 ? (
            <span class="small clash">
              {w.unfit((c.unfit ?? []).map((k) => methodsWords.kinds[k] ?? k).join(", "))}
            </span>
          ) : null}
        </button>
      ))}
      {sum > most && cards.every((c) => c.date !== "") ? <p class="small clash">{w.over(hours(sum))}</p> : null}
    </>
  );
}
