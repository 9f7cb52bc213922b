import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Pick } from "../../parts/pick";
import type { Figures, Rate } from "../../records/figures-reply";
import { showShare } from "../../records/budget";
import { localDay } from "../../records/stops";
import { historyWords as w } from "../../words/history";
import { showDecimal } from "../../words/words";
import { AdviceTable, Groups, Worst } from "./advice";
import { OneInstrument } from "./one";
import { type Behind, TestsPanel } from "./tests";
import { Reading, useRead } from "./waiting";

/** since gives the date that many years ago, "" for all years. */
function since(years: string): string {
  if (years === "") return "";
  const at = new Date();
  at.setFullYear(at.getFullYear() - Number(years));
  return localDay(at);
}

/** FiguresScreen is the office's page on the test results over the years, or on one instrument. */
export function FiguresScreen({ id }: { id: string | undefined }) {
  return id === undefined ? <Overview /> : <OneInstrument id={id} />;
}

const parts = ["advice", "groups", "rates", "worst", "cost"];

function Overview() {
  const [part, show] = useState("advice");
  const [years, setYears] = useState("");
  const [group, setGroup] = useState("");
  const [behind, look] = useState<Behind | undefined>();
  const asked = useRead<Figures>(`/api/office/figures?since=${since(years)}`);
  const f = asked.reply;
  if (!f || f.reading)
    return (
      <>
        <h1>{w.title}</h1>
        <Reading asked={asked} />
      </>
    );
  const to = (name: string) => {
    look(undefined);
    setGroup("");
    show(name);
  };
  return (
    <>
      <h1>{w.title}</h1>
      <div class="buttons figures-parts">
        {parts.map((name) => (
          <Button key={name} pressed={part === name} onClick={() => to(name)}>
            {w.parts[name]}
          </Button>
        ))}
      </div>
      {f.unread > 0 ? <p class="small">{w.unread(f.unread)}</p> : null}
      {behind ? (
        <TestsPanel behind={{ ...behind, since: f.since }} onBack={() => look(undefined)} />
      ) : part === "advice" ? (
        <AdviceTable figures={f} group={group} onGroup={setGroup} onDone={asked.again} />
      ) : part === "groups" ? (
        <Groups
          figures={f}
          onAdvice={(name) => {
            setGroup(name);
            show("advice");
          }}
          onTests={(name) => look({ by: "", value: "", group: name, out: false })}
        />
      ) : part === "rates" ? (
        <>
          <div class="office-form">
            <Pick label={w.period} value={years} options={Object.entries(w.periods)} onChange={setYears} />
          </div>
          <Rates figures={f} onTests={look} />
        </>
      ) : part === "worst" ? (
        <Worst figures={f} />
      ) : (
        <Cost figures={f} />
      )}
    </>
  );
}

/** Share draws a share with its interval, from zero to one. */
function Share({ rate }: { rate: Rate }) {
  if (rate.of === 0) return null;
  const at = (x: number) => 100 * x;
  return (
    <svg class="share" viewBox="0 0 100 12" preserveAspectRatio="none" aria-hidden="true">
      <rect class="band" x="0" y="1" width="100" height="10" />
      <line class="bar" x1={at(rate.low)} x2={at(rate.high)} y1="6" y2="6" />
      <rect class="dot" x={at(rate.passed / rate.of) - 0.6} y="2" width="1.2" height="8" />
    </svg>
  );
}

function Rates({ figures, onTests }: { figures: Figures; onTests: (b: Behind) => void }) {
  const [by, setBy] = useState("kind");
  const { all } = figures;
  const rows = figures.rates[by] ?? [];
  return (
    <>
      {all.of === 0 ? null : (
        <p>
          {w.all(
            all.passed.toLocaleString(),
            all.of.toLocaleString(),
            showShare(all.passed / all.of),
            showShare(all.low),
            showShare(all.high),
          )}{" "}
          {all.undecided > 0 ? w.undecided(all.undecided) : ""}
        </p>
      )}
      <div class="office-form">
        <Pick label={w.ratesOf} value={by} options={Object.entries(w.by)} onChange={setBy} />
      </div>
      {rows.length === 0 ? <p>{w.none}</p> : null}
      <div class="wide-table">
        <table class="register figures">
          <thead>
            <tr>
              <th scope="col">{w.by[by]}</th>
              <th scope="col" class="number">
                {w.columns.passed}
              </th>
              <th scope="col" class="number">
                {w.columns.share}
              </th>
              <th scope="col" class="number">
                {w.columns.between}
              </th>
              <td />
              <th scope="col" class="number">
                {w.columns.found}
              </th>
            </tr>
          </thead>
          <tbody>
            {rows.map((r) => (
              <tr key={r.value}>
                <td>
                  <button
                    type="button"
                    class="link"
                    onClick={() => onTests({ by, value: r.value, group: "", out: false })}
                  >
                    {r.value === "" ? w.blank : r.value}
                  </button>
                </td>
                <td class="number">{`${r.passed.toLocaleString()} / ${r.of.toLocaleString()}`}</td>
                <td class="number">{r.of === 0 ? "" : showShare(r.passed / r.of)}</td>
                <td class="number">{r.of === 0 ? "" : `${showShare(r.low)} … ${showShare(r.high)}`}</td>
                <td class="share-cell">
                  <Share rate={r} />
                </td>
                <td class="number">
                  {r.of - r.passed === 0 ? (
                    "0"
                  ) : (
                    <button
                      type="button"
                      class="link"
                      onClick={() => onTests({ by, value: r.value, group: "", out: true })}
                    >
                      {(r.of - r.passed).toLocaleString()}
                    </button>
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
}

/** round shows a number of hours or instruments. */
const round = (x: number) => (x >= 10 ? Math.round(x).toLocaleString() : showDecimal(x.toFixed(1)));

function Cost({ figures }: { figures: Figures }) {
  const c = figures.cost;
  const saved = c.hours_now - c.hours_then;
  return (
    <section class="figures-text">
      <p class="lead">{w.hours(round(c.hours_now), round(c.hours_then))}</p>
      <p>{saved >= 0 ? w.saves(round(saved)) : w.costs(round(-saved))}</p>
      <p>{w.outs(round(c.out_now), round(c.out_then), c.known, c.all)}</p>
      <p class="quiet">{w.planned(c.planned, c.all, c.usual_minutes)}</p>
      <p class="quiet">{w.aim}</p>
    </section>
  );
}
