import { readField } from "../../wire/read";
import { useEffect, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Later } from "../../parts/later";
import { isVerdict, Mark } from "../../parts/mark";
import { navigate } from "../../nav/route";
import { useLink } from "../../nav/status";
import { useLive, useRecord, useResults, useVisits } from "../../store/hooks";
import { keyTo } from "../../store/shelf";
import { used } from "../../store/here";
import { byKey, byLabel, record } from "../../store/store";
import { asText, isOverdue, list, outOfService, type RecordState, text, value } from "../../wire/records";
import { contested } from "../../records/contested";
import { call } from "../../calc/calc";
import { useCalc } from "../../nav/use-calc";
import { useContested } from "../../nav/use-contested";
import { sentence, showDate, showDecimal, words } from "../../words/words";
import { localDay, plannedOf } from "../../records/stops";
import { Change } from "./change";
import { Against } from "./choose";
import { showLimit, showRange, unitOf } from "../../records/facts";
import { beginVisit, identity, methodNow } from "../../records/item";
import { HistoryChart } from "./history-chart";
import { openOrders, theOrder } from "../../records/orders";
import { pastOf } from "./outlook-data";

const loadElsewhere = () => import("../../views/elsewhere").then((m) => m.Elsewhere);
const loadMore = () => import("../../forms/give").then((m) => m.More);

const loadMessages = () => import("../../views/messages").then((m) => m.Messages);
const loadEarlier = () => import("../../views/earlier").then((m) => m.Earlier);
const loadManifold = () => import("./manifold").then((m) => m.Manifold);
const loadOtherMethod = () => import("./other-method").then((m) => m.OtherMethod);
const loadOrders = () => import("../../views/orders").then((m) => m.Orders);
const loadOutlook = () => import("./outlook").then((m) => m.Outlook);

/** LabelScreen opens the instrument whose label was scanned. */
export function LabelScreen({ label }: { label: string }) {
  const found = useLive(
    async () => (await byLabel(label))?.id ?? null,
    (n) => n.kinds.includes("instrument"),
    [label],
  );
  const id = found ?? undefined;
  useEffect(() => {
    if (id !== undefined) navigate(`/instrument/${id}`, true);
  }, [id]);
  if (found === undefined || found !== null) return <p class="quiet">{words.shell.loading}</p>;
  return <Missing name={label} title={label} />;
}

function Missing({ name, title }: { name: string; title: string }) {
  return <Later load={loadElsewhere} props={{ name, title, otherwise: words.instrument.missing }} />;
}

/**
 * startVisit makes a visit to an instrument and gives its id; undefined if the instrument has no
 * method on this device. why says why the work is done by another method than the one set.
 */
export async function startVisit(
  instrument: RecordState,
  person: string,
  round = "",
  planned = "",
  visits: RecordState[] = [],
  why = "",
): Promise<string | undefined> {
  const method = (planned && (await record(planned))) || (await record(text(instrument, "method")));
  if (!method) return undefined;
  const ordered = theOrder(instrument);
  const { failed } = await call("past", pastOf(visits));
  return beginVisit(instrument, methodNow(method, why), await identity(instrument), person, [
    ...(round === "" ? [] : [{ field: "round", value: round }]),
    ...(ordered === undefined ? [] : [{ field: "order", value: { number: ordered, received: "" } }]),
    ...(failed ? [{ field: "since", value: failed }] : []),
  ]);
}

/**
 * InstrumentScreen shows an instrument's results over the years, then its facts, and starts a
 * visit.
 */
export function InstrumentScreen({ id }: { id: string }) {
  const instrument = useRecord(id);
  const known = useVisits(id);
  const brought = useResults(id);
  const today = localDay(new Date());
  const rounds = useLive(
    () => byKey(keyTo.day(today)),
    (n) => n.kinds.includes("round"),
    [today],
  );
  const user = useLink().user;
  const [error, setError] = useState<string | undefined>();
  const [busy, setBusy] = useState(false);
  const [shown, setShown] = useState(12);
  const [sheet, open] = useState<"" | "several" | "other">("");
  const close = () => open("");
  const w = words.instrument;
  useContested(instrument);
  useEffect(() => {
    used(id).catch((e: unknown) => console.error(e));
  }, [id]);
  const past = useCalc("past", known && brought && pastOf([...known, ...brought]));
  if (instrument === undefined || known === undefined || brought === undefined)
    return <p class="quiet">{words.shell.loading}</p>;
  if (instrument === null) return <Missing name={id} title={w.tag} />;
  const visits = [...known].sort((a, b) => (text(a, "started") < text(b, "started") ? 1 : -1));
  const mine = visits.find((v) => value(v, "signature") === undefined && text(v, "person") === user?.id);
  const stop = rounds
    ?.filter((r) => text(r, "person") === "" || text(r, "person") === user?.id)
    .flatMap((r) => plannedOf(r).map((s) => ({ ...s, round: r.id })))
    .find((s) => s.instrument === id);
  const begin = async (method = stop?.method, why = "") => {
    const visit = await startVisit(instrument, user?.id ?? "", stop?.round, method, visits, why);
    if (visit === undefined) setError(w.noMethod);
    else navigate(`/visit/${visit}`);
  };
  const start = () => {
    setBusy(true);
    begin()
      .catch((e: unknown) => {
        console.error(e);
        setError(words.shell.storeBroken);
      })
      .finally(() => setBusy(false));
  };
  const cautions = list(instrument, "cautions").map(asText);
  const orders = openOrders(instrument);
  const measured = (name: string) => {
    const figure = text(instrument, name);
    return figure === "" ? "" : `${showDecimal(figure)} ${unitOf(instrument)}`;
  };
  const facts: [string, string, string, boolean?][] = [
    ["serial", w.serial, text(instrument, "serial")],
    ["description", w.description, text(instrument, "description")],
    ["range", w.range, showRange(value(instrument, "range"))],
    ["resolution", w.resolution, measured("resolution")],
    ["overload", w.overload, measured("overload")],
    ["limit", w.allowed, showLimit(value(instrument, "limit"), unitOf(instrument))],
    ["medium", w.medium, text(instrument, "medium")],
    ["connection", w.connection, text(instrument, "connection")],
    ["area", w.area, text(instrument, "area")],
    ["place", w.place, text(instrument, "place"), true],
    ["manufacturer", w.manufacturer, text(instrument, "manufacturer")],
    ["model", w.model, text(instrument, "model")],
    [
      "due",
      w.due,
      isOverdue(text(instrument, "due"), today)
        ? `${showDate(text(instrument, "due"))}, ${w.overdue}`
        : showDate(text(instrument, "due")),
    ],
    ["status", w.status, sentence(text(instrument, "status"))],
    ["note", w.note, text(instrument, "note"), true],
  ];
  return (
    <article class="instrument">
      <h1>
        {text(instrument, "tag") || text(instrument, "name")}{" "}
        <span class="quiet">{text(instrument, "description")}</span>
      </h1>
      <h2>{w.history}</h2>
      {past ? (
        <HistoryChart past={past.shares} />
      ) : (
        <p class={visits.length > 0 ? "quiet chart-room" : "quiet"}>{words.shell.loading}</p>
      )}
      {error ? <p role="alert">{error}</p> : null}
      {mine ? (
        <Button kind="main" size="tall" wide onClick={() => navigate(`/visit/${mine.id}`)}>
          {w.resume}
        </Button>
      ) : instrument.kind !== "instrument" ? null : outOfService(instrument) ? (
        <p class="caution">
          <strong>{sentence(text(instrument, "status"))}</strong>: {w.retired}
        </p>
      ) : (
        <>
          <Button kind="main" size="tall" wide disabled={busy} onClick={start}>
            {w.start}
          </Button>
          <Button kind="quiet" size="tall" wide onClick={() => open("several")}>
            {w.several}
          </Button>
          <Button kind="quiet" size="tall" wide onClick={() => open("other")}>
            {w.otherMethod}
          </Button>
        </>
      )}
      {sheet === "other" ? (
        <Later
          load={loadOtherMethod}
          props={{
            instrument,
            usual: stop?.method || text(instrument, "method"),
            onStart: begin,
            onClose: close,
          }}
        />
      ) : null}
      {sheet === "several" ? <Later load={loadManifold} props={{ instrument, onClose: close }} /> : null}
      {cautions.length > 0 ? (
        <p class="caution">
          <strong>{w.cautions}</strong>: {cautions.join(", ").replaceAll("_", " ")}
        </p>
      ) : null}
      {orders.length > 0 ? <Later load={loadOrders} props={{ orders }} /> : null}
      {instrument.kind === "instrument" ? (
        <div class="messages-room">
          <Later load={loadMessages} props={{ instrument }} />
        </div>
      ) : null}
      {past && past.shares.length > 1 ? (
        <div class={past.shares.length > 2 ? "outlook-room" : ""}>
          <Later load={loadOutlook} props={{ instrument, visits: [...visits, ...brought] }} />
        </div>
      ) : null}
      <h2>{w.facts}</h2>
      <dl class="facts">
        {facts
          .filter(([field, , shown, open]) => shown !== "" || open || contested(instrument, field))
          .map(([field, name, shown, open]) => (
            <Fact key={field} name={name} shown={shown} field={field} instrument={instrument} open={open === true} />
          ))}
      </dl>
      <Later load={loadMore} props={{ instrument }} />
      <h2>{w.visits}</h2>
      <ul class="rows">
        {visits.slice(0, shown).map((v) => (
          <VisitRow key={v.id} visit={v} />
        ))}
      </ul>
      {visits.length > shown ? (
        <Button onClick={() => setShown(visits.length)}>{w.earlier(visits.length - shown)}</Button>
      ) : null}
      {visits.length === 0 ? <p class="quiet">{w.historyNone}</p> : null}
      {brought.length > 0 ? <Later load={loadEarlier} props={{ results: brought }} /> : null}
    </article>
  );
}

function Fact({
  name,
  shown,
  field,
  instrument,
  open,
}: {
  name: string;
  shown: string;
  field: string;
  instrument: RecordState;
  open: boolean;
}) {
  const [changing, change] = useState(false);
  return (
    <>
      <dt>{name}</dt>
      <dd>
        {contested(instrument, field) ? (
          <>
            <p class="small">{words.instrument.contested}</p>
            <Against of={instrument} field={field} />
          </>
        ) : changing ? null : (
          shown
        )}
        {changing ? (
          <Change
            instrument={instrument}
            field={field}
            name={name}
            value={contested(instrument, field) ? "" : shown}
            onDone={() => change(false)}
          />
        ) : open ? (
          <Button kind="quiet" onClick={() => change(true)} label={words.instrument.changeIt(name)}>
            {words.instrument.change}
          </Button>
        ) : null}
      </dd>
    </>
  );
}

function VisitRow({ visit }: { visit: RecordState }) {
  const summary = readField("visit", visit, "summary");
  const found = summary.as_found?.verdict;
  const left = summary.as_left?.verdict;
  return (
    <li>
      <a href={`/visit/${visit.id}`}>
        <span>
          <span class="lead">{showDate(text(visit, "started"))}</span>
          <br />
          <span class="small quiet">{readField("visit", visit, "method").name}</span>
        </span>
        <span class="side">
          {isVerdict(found) ? <Mark verdict={found} /> : <span class="quiet">{words.round.going}</span>}
          {isVerdict(left) ? (
            <span class="small quiet">
              {" "}
              {words.instrument.asLeft} <Mark verdict={left} />
            </span>
          ) : null}
        </span>
      </a>
    </li>
  );
}
