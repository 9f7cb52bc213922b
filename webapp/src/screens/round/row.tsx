import { isFailed, isVerdict, Mark } from "../../parts/mark";
import { Sign } from "../../parts/sign";
import type { DueOutput } from "../../wire/calculations.gen";
import { asText, list, signOf, type RecordState, text, value } from "../../wire/records";
import { words } from "../../words/words";
import { openOrders } from "../../records/orders";
import { showRange } from "../../records/facts";
import type { Where } from "../../records/standing";
import type { Stop } from "../../records/stops";

const w = words.round;

/** How near an instrument's due date is, according to the calculation due. */
export type Near = NonNullable<DueOutput["dates"]>[number];

/** dueText says when an instrument is due; "" if that is not near. */
export function dueText({ days, late, soon }: Near): string {
  if (days === undefined || !(late || soon)) return "";
  return late ? w.overdue(-days) : days === 0 ? w.dueToday : w.dueIn(days);
}

/** Hazards shows the framed letters for the cautions. */
function Hazards({ cautions }: { cautions: string[] }) {
  return (
    <>
      {cautions.flatMap((c) => {
        const hazard = w.hazards[c];
        return hazard
          ? [
              <abbr key={c} class="hazard" title={hazard[1]}>
                {hazard[0]}
              </abbr>,
            ]
          : [];
      })}
    </>
  );
}

/** orderNumbers lists the numbers of an instrument's work orders, and marks urgent ones. */
const orderNumbers = (it: RecordState) =>
  openOrders(it)
    .map((o) => (o.priority === "urgent" ? w.urgentOrder(o.number) : w.order(o.number)))
    .join(", ");

/** What is shown of a stop. */
export type Shown = {
  stop: Stop;
  it: RecordState | undefined;
  near: Near | undefined;
  where: Where | undefined;
  untested: string;
  far: string;
  minutes: string;
};

function State({ stop, near, where, untested, far, minutes }: Shown) {
  const due = near ? dueText(near) : "";
  if (where?.at === "returned")
    return (
      <>
        <strong>{w.at.returned}</strong>
        <br />
        <span class="small">{where.said}</span>
      </>
    );
  if (stop.state === "open")
    return (
      <>
        {due === "" ? w.open : <span class={near?.late ? "overdue" : ""}>{due}</span>}
        {minutes === "" ? null : (
          <>
            <br />
            <span class="small quiet">{minutes}</span>
          </>
        )}
      </>
    );
  if (stop.state === "going")
    return (
      <>
        {untested === "" ? w.going : <strong>{w.notTested}</strong>}
        <br />
        <span class="small">{untested === "" ? far : `${untested} · ${w.unsigned}`}</span>
      </>
    );
  return (
    <>
      {untested !== "" ? (
        <strong>{w.notTested}</strong>
      ) : isVerdict(stop.verdict) ? (
        <span class={isFailed(stop.verdict) ? "failed" : ""}>
          <Mark verdict={stop.verdict} />
        </span>
      ) : (
        w.done
      )}
      <br />
      <span class="small quiet">{[untested, where ? w.at[where.at] : ""].filter(Boolean).join(" · ")}</span>
    </>
  );
}

/**
 * Row is one stop of the round: what it is, its hazards and its state. With named it also names its
 * area.
 */
export function Row(p: Shown & { named: boolean }) {
  const { stop, it, named } = p;
  const kind = signOf(it) || "gauge";
  return (
    <li class={stop.state}>
      <a href={`/instrument/${stop.instrument}`}>
        <Sign kind={kind} name={words.find.kinds[kind] ?? kind} />
        <span class="what">
          <span class="lead">{it ? text(it, "tag") : w.unknown}</span>{" "}
          {it ? <Hazards cautions={list(it, "cautions").map(asText)} /> : null}
          <br />
          <span class="small quiet">
            {it && openOrders(it).length > 0 ? <strong>{`${orderNumbers(it)} · `}</strong> : null}
            {it
              ? [
                  showRange(value(it, "range")),
                  text(it, "description"),
                  named ? text(it, "area") : "",
                  text(it, "place"),
                ]
                  .filter(Boolean)
                  .join(" · ")
              : ""}
          </span>
        </span>
        <span class="side state">
          <State {...p} />
        </span>
      </a>
    </li>
  );
}
