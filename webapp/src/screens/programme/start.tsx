import { useEffect, useState } from "preact/hooks";
import { call } from "../../calc/calc";
import { Field } from "../../parts/field";
import { navigate } from "../../nav/route";
import { useLink } from "../../nav/status";
import { useRegister } from "../../store/hooks";
import { keyTo } from "../../store/shelf";
import { byKey, record } from "../../store/store";
import type { SuitableOutput } from "../../wire/calculations.gen";
import { type RecordState, text, value } from "../../wire/records";
import { programmeWords as w } from "../../words/programme";
import { sentence, words } from "../../words/words";
import { showRange } from "../../records/facts";
import { beginVisit, itemOf } from "../../records/item";
import { localDay, plannedOf } from "../../records/stops";
import type { Doc } from "../../records/programme";

/** How many instruments are offered, and how many are examined for that. */
const most = 6;
const among = 60;

type Offered = { suits: RecordState[]; refused: { it: RecordState; why: string }[] };

/** plannedToday gives the instruments of the person's rounds of today, in their order. */
async function plannedToday(person: string): Promise<string[]> {
  const rounds = await byKey(keyTo.day(localDay(new Date())));
  return rounds
    .filter((r) => text(r, "person") === "" || text(r, "person") === person)
    .flatMap((r) => plannedOf(r).map((s) => s.instrument));
}

/** whyNot says why an instrument is not offered. */
const whyNot = ({ status, text: said }: SuitableOutput["refused"][number]): string =>
  status === undefined ? (said ?? "") : `${sentence(status)}, ${words.instrument.retired}`;

/** offer divides instruments into those that a programme can run on and the others. */
async function offer(method: Doc, ids: string[]): Promise<Offered> {
  const found = (await Promise.all(ids.map(record))).filter((i) => i !== undefined);
  const said = await call("suitable", {
    method,
    instruments: await Promise.all(
      found.map(async (i) => ({
        id: i.id,
        status: text(i, "status"),
        instrument: (await itemOf(i)).instrument,
      })),
    ),
  });
  const byId = new Map(found.map((i) => [i.id, i]));
  return {
    suits: said.suitable.flatMap((id) => byId.get(id) ?? []),
    refused: said.refused.flatMap((r) => {
      const it = byId.get(r.id);
      return it ? [{ it, why: whyNot(r) }] : [];
    }),
  };
}

/**
 * Start runs a programme on a suitable instrument of this device. Those of today's rounds come
 * first.
 */
export function Start({
  method,
  version,
  name,
  definition,
}: {
  method: string;
  version: number;
  name: string;
  definition: Doc;
}) {
  const person = useLink().user?.id ?? "";
  const [tag, setTag] = useState("");
  const [error, say] = useState<string | undefined>();
  const [busy, setBusy] = useState(false);
  const [offered, set] = useState<Offered | undefined>();
  const search = tag.trim();
  const so = useRegister(search, among);
  const looked = so !== undefined && (so.looked === so.all || so.rows.length >= most);
  const rows = looked ? so.rows.map((r) => r.id).join(" ") : undefined;
  useEffect(() => {
    if (rows === undefined) return;
    let here = true;
    const failed = (e: unknown) => {
      console.error(e);
      if (here) say(words.shell.storeBroken);
    };
    (async () => {
      const today = search === "" ? await plannedToday(person) : [];
      const ids = [...new Set([...today, ...rows.split(" ").filter((id) => id !== "")])];
      const now = await offer(definition, ids);
      if (here) set(now);
    })().catch(failed);
    return () => {
      here = false;
    };
  }, [rows, definition, person]);
  const start = async (it: RecordState) => {
    const begun = { id: method, version, name, definition };
    navigate(`/visit/${await beginVisit(it, begun, (await itemOf(it)).item, person)}`);
  };
  const go = (it: RecordState) => {
    setBusy(true);
    say(undefined);
    start(it)
      .catch((e: unknown) => {
        console.error(e);
        say(words.shell.storeBroken);
      })
      .finally(() => setBusy(false));
  };
  const none = offered !== undefined && offered.suits.length === 0;
  return (
    <section aria-label={w.start}>
      <h2>{w.start}</h2>
      <Field label={w.startTag} value={tag} onInput={setTag} type="search" />
      {error === undefined ? null : (
        <p class="complaint" role="alert">
          {error}
        </p>
      )}
      {none ? <p>{offered.refused.length === 0 ? w.startNone : w.startUnsuitable}</p> : null}
      <ul class="rows">
        {offered?.suits.slice(0, most).map((i) => (
          <li key={i.id}>
            <button type="button" class="step-row" disabled={busy} onClick={() => go(i)}>
              <strong>{w.startHere(text(i, "tag"))}</strong> <span class="quiet">{showRange(value(i, "range"))}</span>
            </button>
          </li>
        ))}
      </ul>
      {search === "" ? null : (
        <ul class="rows">
          {offered?.refused.slice(0, most).map(({ it, why }) => (
            <li key={it.id}>{w.refusedHere(text(it, "tag"), why)}</li>
          ))}
        </ul>
      )}
    </section>
  );
}
