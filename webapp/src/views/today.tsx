import { readField } from "../wire/read";
import { call } from "../calc/calc";
import type { BegunOutput, BringOutput } from "../wire/calculations.gen";
import { Cover } from "../parts/cover";
import { isFailed, isVerdict, Mark } from "../parts/mark";
import { byKind, byParent, record } from "../store/store";
import { asObject, asText, list, type RecordState, text, value } from "../wire/records";
import { instrumentFor } from "../records/item";
import { standardsAsked } from "../records/standards";
import type { Where } from "../records/standing";
import { type Planned, plannedOf, type Stop } from "../records/stops";
import { todayWords as w } from "../words/today";
import { showDecimal, words } from "../words/words";

/** The calculations' results about a day. */
export type Details = {
  bring: BringOutput | undefined;
  begun: ReadonlyMap<string, BegunOutput>;
  standards: ReadonlyMap<string, string>;
};

/**
 * detailsOf asks what to bring for stops and how far open visits are. It leaves out what cannot be
 * calculated; the round is shown without it.
 */
export async function detailsOf(
  rounds: readonly RecordState[],
  instruments: ReadonlyMap<string, RecordState>,
  begun: readonly RecordState[],
  today: string,
): Promise<Details> {
  const standards = await byKind("standard");
  const stops = rounds.flatMap(plannedOf).filter((s) => instruments.has(s.instrument));
  const [bring, far] = await Promise.all([
    bringFor(stops, instruments, standards, today).catch((e: unknown) => void console.error(e)),
    Promise.all(begun.map(async (v) => [v.id, await farOf(v)] as const)),
  ]);
  return {
    bring: bring ?? undefined,
    begun: new Map(far.flatMap(([id, b]) => (b ? [[id, b] as const] : []))),
    standards: new Map(standards.map((s) => [s.id, [text(s, "name"), text(s, "serial")].filter(Boolean).join(" ")])),
  };
}

async function bringFor(
  stops: readonly Planned[],
  instruments: ReadonlyMap<string, RecordState>,
  standards: readonly RecordState[],
  today: string,
): Promise<BringOutput> {
  const methods = new Map<string, RecordState | undefined>();
  const methodOf = async (s: Planned, it: RecordState) => {
    const id = s.method || text(it, "method");
    if (!methods.has(id)) methods.set(id, await record(id));
    return methods.get(id);
  };
  const asked = [];
  for (const s of stops) {
    const it = instruments.get(s.instrument) as RecordState;
    const method = await methodOf(s, it);
    const definition = value(method, "definition");
    asked.push({
      id: s.instrument,
      own: s.instrument,
      area: text(it, "area"),
      medium: text(it, "medium"),
      connection: text(it, "connection"),
      cautions: [...list(it, "cautions"), ...list(method, "cautions")].map(asText),
      ...(definition ? { method: asObject(definition), instrument: await instrumentFor(it) } : {}),
    });
  }
  return call("bring", { today, stops: asked, standards: standardsAsked(standards) });
}

async function farOf(visit: RecordState): Promise<BegunOutput | undefined> {
  try {
    return await call("begun", { visit, runs: (await byParent(visit.id)).filter((r) => r.kind === "run") });
  } catch (e) {
    console.error(e);
    return undefined;
  }
}

/** farText says how far an open visit is, and whether it is not vented. */
export function farText(b: BegunOutput | undefined): string {
  if (!b) return "";
  const step = b.step === undefined ? "" : w.step(b.step, b.steps ?? b.step);
  if (!b.pressed) return step;
  const set = b.target === undefined ? w.notVented : w.notVentedAt(`${showDecimal(b.target)} ${b.unit ?? ""}`.trim());
  return [set, step].filter(Boolean).join(" · ");
}

/** areaText says what an area needs besides the standards: its connections, its media. */
export function areaText(bring: BringOutput, area: string): string {
  const a = bring.areas.find((x) => x.area === area);
  if (!a) return "";
  return [a.connections.map((c) => c.name).join(", "), a.media.map((m) => m.name).join(", ")]
    .filter(Boolean)
    .join(" · ");
}

/** Bring shows what to take along today, and for how long. */
export function Bring({ details, tags }: { details: Details; tags: ReadonlyMap<string, string> }) {
  const { bring, standards } = details;
  if (!bring || bring.stops.length === 0) return null;
  const sum = (pick: "connections" | "media") => [...new Set(bring.areas.flatMap((a) => a[pick].map((x) => x.name)))];
  const named = (which: (u: BringOutput["unserved"][number]) => boolean) =>
    bring.unserved.filter(which).map((u) => tags.get(u.stop) ?? u.stop);
  const unserved = named((u) => !u.meter && !u.barometer);
  const signals = named((u) => u.meter === true);
  const airs = named((u) => u.barometer === true);
  return (
    <details class="bring">
      <summary>
        <strong>{w.bring}</strong> {w.standards(bring.standards.length)} · {w.time(bring.minutes, bring.unknown)}
        {bring.areas.some((a) => a.oxygen) ? ` · ${w.oxygenShort}` : ""}
      </summary>
      <ul>
        {bring.standards.map((s) => (
          <li key={s.standard}>
            {standards.get(s.standard) ?? s.standard}{" "}
            <span class="small quiet">{s.stops.map((id) => tags.get(id) ?? id).join(", ")}</span>
          </li>
        ))}
        {unserved.length > 0 ? <li class="attention">{w.unserved(unserved.join(", "))}</li> : null}
        {signals.length > 0 ? <li class="attention">{w.unread(signals.join(", "))}</li> : null}
        {airs.length > 0 ? <li class="attention">{w.noAir(airs.join(", "))}</li> : null}
        {sum("connections").length > 0 ? <li>{w.connections(sum("connections").join(", "))}</li> : null}
        {sum("media").length > 0 ? <li>{w.media(sum("media").join(", "))}</li> : null}
        {bring.areas.some((a) => a.oxygen) ? <li class="attention">{w.oxygen}</li> : null}
      </ul>
    </details>
  );
}

/** A stop with what is shown of it in the summary of the day. */
export type Line = { tag: string; stop: Stop; where: Where | undefined; untested: string; far: string };

/**
 * Summary is the day at a glance: what was done, what failed, what is left and why, what is unsent.
 */
export function Summary({ lines, onClose }: { lines: readonly Line[]; onClose: () => void }) {
  const done = lines.filter((l) => l.stop.state === "done" && l.untested === "");
  const failed = done.filter((l) => isFailed(l.stop.verdict));
  const untested = lines.filter((l) => l.untested !== "");
  const back = lines.filter((l) => l.where?.at === "returned");
  const going = lines.filter((l) => l.stop.state === "going" && l.untested === "" && l.where?.at !== "returned");
  const open = lines.filter((l) => l.stop.state === "open");
  const unsent = lines.filter((l) => l.where?.at === "here");
  const part = (title: string, some: readonly Line[], more: (l: Line) => string) =>
    some.length === 0 ? null : (
      <section>
        <h3>{title}</h3>
        <ul class="rows">
          {some.map((l) => (
            <li key={l.stop.instrument}>
              <p>
                <strong>{l.tag}</strong> {isVerdict(l.stop.verdict) ? <Mark verdict={l.stop.verdict} /> : null}{" "}
                {more(l)}
              </p>
            </li>
          ))}
        </ul>
      </section>
    );
  return (
    <Cover title={w.summary} onClose={onClose}>
      <p>{w.sum(done.length, failed.length, untested.length, going.length, open.length)}</p>
      <p>
        <strong>{unsent.length === 0 ? w.allSent : w.unsent(unsent.map((l) => l.tag).join(", "))}</strong>
      </p>
      {part(w.failed, failed, (l) => (l.where ? words.round.at[l.where.at] : ""))}
      {part(w.back, back, (l) => l.where?.said ?? "")}
      {part(w.untested, untested, (l) => l.untested)}
      {part(w.going, going, (l) => l.far)}
      {part(w.left, open, () => "")}
      {part(
        w.done,
        done.filter((l) => !failed.includes(l)),
        (l) => (l.where ? words.round.at[l.where.at] : ""),
      )}
    </Cover>
  );
}

/** tagOf gives the tag that a visit keeps. */
export const tagOf = (visit: RecordState): string => readField("visit", visit, "item").tag;
