import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { holdsPart } from "../../nav/hold";
import { useLive, useRegister } from "../../store/hooks";
import { isOverdue } from "../../wire/records";
import { words } from "../../words/words";
import { localDay } from "../../records/stops";
import { showRange } from "../../records/facts";

const loadAlong = () => import("../../views/along").then((m) => m.Along);
const loadScanner = () => import("../../views/scanner").then((m) => m.Scanner);
const most = 40;

/** FindScreen searches the instruments on this device, by typed words or by a scanned tag. */
export function FindScreen() {
  const [search, setSearch] = useState("");
  const today = localDay(new Date());
  const [scanning, setScanning] = useState(false);
  const so = useRegister(search.trim(), most, { today, overdue: words.find.overdue });
  const part = useLive(holdsPart, () => false, []);
  const w = words.find;
  const looking = so !== undefined && so.looked < so.all;
  return (
    <>
      <h1>{w.title}</h1>
      {scanning ? (
        <Later load={loadScanner} props={{ onEnd: () => setScanning(false) }} />
      ) : (
        <Button kind="main" size="tall" wide onClick={() => setScanning(true)}>
          {w.scan}
        </Button>
      )}
      <Field label={w.label} type="search" value={search} onInput={setSearch} inputMode="search" />
      {so === undefined ? <p class="quiet">{words.shell.loading}</p> : null}
      <p class="small quiet" role="status">
        {so === undefined
          ? ""
          : looking
            ? w.looking(so.looked, so.all)
            : so.all === 0
              ? w.empty
              : so.found === 0
                ? w.none
                : so.near
                  ? w.near(so.found)
                  : w.count(so.found)}
      </p>
      <ul class="rows">
        {so?.rows.map((i) => (
          <li key={i.id}>
            <a href={`/instrument/${i.id}`}>
              <span>
                <span class="lead">{i.tag}</span> {i.status ? <strong>{`${i.status} `}</strong> : null}
                <span>{i.description}</span>
                <br />
                <span class="small quiet">{[i.serial, i.area, i.place].filter(Boolean).join(" · ")}</span>
              </span>
              <span class="side small">
                <span class="quiet">{showRange(i.range)}</span>
                {isOverdue(i.due ?? "", today, !i.status) ? (
                  <>
                    <br />
                    <strong>{w.overdue}</strong>
                  </>
                ) : null}
              </span>
            </a>
          </li>
        ))}
      </ul>
      {so && so.found > so.rows.length ? <p class="quiet">{w.more(so.found - so.rows.length)}</p> : null}
      {part ? <Later load={loadAlong} props={{}} quiet /> : null}
    </>
  );
}
