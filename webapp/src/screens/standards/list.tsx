import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { deskWords } from "../../words/desk";
import { standardsWords } from "../../words/standards";
import { showDate } from "../../words/words";
import { showRange } from "../../records/facts";
import { useAsk, Waiting } from "../../nav/asking";
import { useNews } from "../../nav/fresh";
import type { Json } from "../../wire/records";
import { EditStandard } from "./edit";

const w = deskWords.standards;

/** A standard as package server/desk lists it. */
export type StandardRow = {
  id: string;
  name: string;
  serial: string;
  state: string;
  due: string;
  days: number | null;
  certificate: string;
  ranges: { [name: string]: Json }[];
  kit: string;
  medium: string;
  cleaned: string;
  place: string;
  person: string;
  since: string;
  used: string;
  used_by: string;
  checked: string;
  lookbacks: number;
};

/** Badge is the state of a standard in words, marked if somebody has to act. */
export function Badge({ state }: { state: string }) {
  return <span class={`badge ${state}`}>{w.states[state] ?? state}</span>;
}

/** StandardList lists the standards: those that need somebody first, then by their due date. */
export function StandardList() {
  const asked = useAsk<{ standards: StandardRow[] }>("/api/office/standards");
  useNews(() => true, asked.again);
  const [adding, add] = useState(false);
  const list = asked.reply?.standards;
  const where = (r: StandardRow) =>
    [r.place, r.person, r.since === "" ? "" : `${deskWords.care.since} ${showDate(r.since)}`]
      .filter(Boolean)
      .join(", ");
  const serves = (r: StandardRow) =>
    [
      standardsWords.media[r.medium as keyof typeof standardsWords.media] ?? "",
      r.cleaned === "" ? "" : `${w.oxygen} ${showDate(r.cleaned)}`,
    ]
      .filter(Boolean)
      .join(", ");
  return (
    <div class="desk-page">
      <h1>{standardsWords.title}</h1>
      <p>
        <a href="/office/lookbacks">{w.lookbacks}</a>
      </p>
      <Waiting asked={asked} />
      {list?.length === 0 ? <p>{standardsWords.none}</p> : null}
      {list && list.length > 0 ? (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
        <section class="wide-table" tabIndex={0} aria-label={standardsWords.title}>
          <table class="visits-table all-standards">
            <thead>
              <tr>
                {[w.name, w.state].map((h) => (
                  <th key={h} scope="col">
                    {h}
                  </th>
                ))}
                <th scope="col" class="number">
                  {w.due}
                </th>
                {[w.ranges, w.certificate, w.serves, w.where, w.used, w.checked, w.kit].map((h) => (
                  <th key={h} scope="col">
                    {h}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {list.map((r) => (
                <tr key={r.id}>
                  <th scope="row">
                    <a href={`/office/standard/${r.id}`}>{r.name}</a> <span class="small quiet">{r.serial}</span>
                  </th>
                  <td>
                    <Badge state={r.state} />
                    {r.lookbacks > 0 ? <div class="small">{w.looked(r.lookbacks)}</div> : null}
                  </td>
                  <td class="number">
                    {r.due === "" ? "\u2013" : showDate(r.due)}
                    {r.days === null ? null : <div class="small quiet">{w.days(r.days)}</div>}
                  </td>
                  <td class="small">
                    {r.ranges.map((x) => (
                      <div key={showRange(x)}>{showRange(x)}</div>
                    ))}
                  </td>
                  <td class="small">{r.certificate}</td>
                  <td class="small">{serves(r)}</td>
                  <td class="small">{where(r)}</td>
                  <td class="small">{r.used === "" ? "" : `${showDate(r.used)}, ${r.used_by}`}</td>
                  <td class="small">{showDate(r.checked)}</td>
                  <td class="small">{r.kit}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      ) : null}
      {adding ? (
        <EditStandard standard={undefined} onDone={() => add(false)} />
      ) : (
        <Button onClick={() => add(true)}>{standardsWords.add}</Button>
      )}
    </div>
  );
}
