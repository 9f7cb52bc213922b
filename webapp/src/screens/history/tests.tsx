import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { isVerdict, Mark } from "../../parts/mark";
import type { Tested, Tests } from "../../records/figures-reply";
import { historyWords as w } from "../../words/history";
import { showDate } from "../../words/words";
import { Reading, useRead } from "./waiting";

/** The tests behind a figure. */
export type Behind = { by: string; value: string; group: string; out: boolean; since?: string };

const piece = 100;

/** TestsPanel lists the tests behind a figure. Each leads to its visit. */
export function TestsPanel({ behind, onBack }: { behind: Behind; onBack: () => void }) {
  const [out, setOut] = useState(behind.out);
  const [most, setMost] = useState(piece);
  const q = new URLSearchParams({ by: behind.by, value: behind.value, since: behind.since ?? "", most: String(most) });
  if (out) q.set("out", "1");
  if (behind.group !== "") q.set("group", behind.group);
  const asked = useRead<Tests>(`/api/office/figures/tests?${q}`);
  const list = asked.reply;
  const what = behind.group !== "" ? behind.group.split("\n").join(" · ") : behind.value || w.blank;
  return (
    <section>
      <h2>{w.testsOf(what)}</h2>
      <div class="buttons">
        <Button onClick={onBack}>{w.back}</Button>
        <Button pressed={out} onClick={() => setOut(!out)}>
          {w.onlyOut}
        </Button>
      </div>
      {!list || list.reading ? <Reading asked={asked} /> : null}
      {list?.rows ? (
        <>
          <p role="status">{list.found.toLocaleString()}</p>
          <TestTable rows={list.rows} tags />
          {list.found > list.rows.length ? <Button onClick={() => setMost(most + piece)}>{w.more}</Button> : null}
        </>
      ) : null}
    </section>
  );
}

/** TestTable shows tests in rows. */
export function TestTable({ rows, tags }: { rows: Tested[]; tags: boolean }) {
  if (rows.length === 0) return <p>{w.none}</p>;
  return (
    <div class="wide-table">
      <table class="register figures">
        <thead>
          <tr>
            <th scope="col">{w.columns.date}</th>
            {tags ? <th scope="col">{w.columns.tag}</th> : null}
            <th scope="col">{w.columns.result}</th>
            <th scope="col" class="number">
              {w.columns.limit}
            </th>
            <th scope="col">{w.columns.left}</th>
            <th scope="col">{w.columns.method}</th>
            <th scope="col">{w.columns.person}</th>
          </tr>
        </thead>
        <tbody>
          {rows.map((t) => (
            <tr key={t.id}>
              <td>{t.brought ? showDate(t.started) : <a href={`/office/visit/${t.id}`}>{showDate(t.started)}</a>}</td>
              {tags ? (
                <td>
                  <a href={`/office/figures/${t.instrument}`}>{t.tag}</a>
                </td>
              ) : null}
              <td>{isVerdict(t.verdict) ? <Mark verdict={t.verdict} /> : t.verdict}</td>
              <td class="number">{t.of_limit === undefined ? "" : `${t.of_limit} %`}</td>
              <td>
                {isVerdict(t.left) ? <Mark verdict={t.left} /> : null}
                {t.adjusted && t.left === "" ? w.adjusted : null}
              </td>
              <td>{t.method}</td>
              <td>{t.brought ? w.brought : t.who}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
