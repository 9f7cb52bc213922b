import { useEffect, useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { Button } from "../../parts/button";
import { Cover } from "../../parts/cover";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { navigate } from "../../nav/route";
import { useLink } from "../../nav/status";
import { beginVisit, itemOf, methodNow } from "../../records/item";
import { showRange } from "../../records/facts";
import { localDay, plannedOf } from "../../records/stops";
import { useRegister } from "../../store/hooks";
import { keyTo } from "../../store/shelf";
import { byKey, byLabel, record } from "../../store/store";
import type { TogetherInput, TogetherOutput } from "../../wire/calculations.gen";
import { asObject, asText, type Json, list, newId, type RecordState, text, value } from "../../wire/records";
import { manifoldWords as w } from "../../words/manifold";
import { showDecimal, words } from "../../words/words";
import { pastOf } from "./outlook-data";

const loadScanner = () => import("../../views/scanner").then((m) => m.Scanner);

type Member = TogetherInput["instruments"][number];

/** What is wrong with one of the chosen instruments, in words. */
type Wrong = { id: string; said: string };

/** stopOf gives today's round with an instrument in it, and the method planned there. */
async function stopOf(instrument: string, person: string): Promise<{ round: string; method: string } | undefined> {
  const rounds = await byKey(keyTo.day(localDay(new Date())));
  return rounds
    .filter((r) => text(r, "person") === "" || text(r, "person") === person)
    .flatMap((r) => plannedOf(r).map((s) => ({ ...s, round: r.id })))
    .find((s) => s.instrument === instrument);
}

/** methodOf gives the method that a visit of an instrument begins with now. */
async function methodOf(instrument: RecordState, planned: string | undefined): Promise<RecordState | undefined> {
  return (planned && (await record(planned))) || (await record(text(instrument, "method")));
}

/** memberOf gives what decides whether an instrument may share a manifold, or why it may not. */
async function memberOf(it: RecordState, person: string): Promise<Member | string> {
  const method = await methodOf(it, (await stopOf(it.id, person))?.method);
  if (!method) return w.wrong["method"] ?? "";
  const definition = asObject(value(method, "definition"));
  const visits = await byKey(keyTo.visits(it.id));
  const { instrument } = await itemOf(it);
  const { high, unit, mode } = asObject(instrument);
  try {
    const plan = await call("expand", { method: definition, instrument, label: "as found" } as never);
    const steps = asObject(plan as Json)["steps"];
    return {
      id: it.id,
      kind: asText(definition["kind"]),
      way: asText(definition["way"]),
      ...(mode === undefined ? {} : { mode: asText(mode) as "gauge" }),
      high: asText(high),
      unit: asText(unit),
      medium: text(it, "medium"),
      cautions: list(it, "cautions").map(asText),
      begun: visits.some((v) => value(v, "signature") === undefined && text(v, "person") === person),
      since: (await call("past", pastOf(visits))).failed !== undefined,
      steps: (Array.isArray(steps) ? steps : []) as Member["steps"],
    };
  } catch (e) {
    if (e instanceof CalcError) return e.message;
    throw e;
  }
}

/** judge asks whether the chosen instruments may share one manifold. */
async function judge(chosen: RecordState[], person: string): Promise<{ said: TogetherOutput; wrong: Wrong[] }> {
  const members = await Promise.all(chosen.map((it) => memberOf(it, person)));
  const wrong: Wrong[] = members.flatMap((m, i) =>
    typeof m === "string" ? [{ id: chosen[i]?.id ?? "", said: m }] : [],
  );
  const said = await call("together", { instruments: members.filter((m) => typeof m !== "string") });
  const tag = (id: string | undefined) =>
    text(
      chosen.find((c) => c.id === id),
      "tag",
    );
  for (const one of said.wrong) {
    if (one.code === "few" && chosen.length > 1) continue; // one of them was refused above
    const against = one.with === undefined ? "" : ` ${w.with(tag(one.with))}`;
    wrong.push({ id: one.id ?? "", said: `${w.wrong[one.code] ?? one.code}${against}` });
  }
  return { said, wrong };
}

/** begin makes the visits, each of which names all of them, and gives the first. */
async function begin(chosen: RecordState[], person: string, said: TogetherOutput): Promise<string> {
  const visits = chosen.map(() => newId());
  for (const [i, it] of chosen.entries()) {
    const stop = await stopOf(it.id, person);
    const method = await methodOf(it, stop?.method);
    if (!method) throw new Error("the method has gone");
    await beginVisit(
      it,
      methodNow(method),
      (await itemOf(it)).item,
      person,
      [
        { field: "manifold", value: { visits, high: said.high ?? "", unit: said.unit ?? "" } },
        ...(stop ? [{ field: "round", value: stop.round }] : []),
      ],
      visits[i],
    );
  }
  return visits[0] ?? "";
}

/** Manifold chooses the gauges to test on one manifold, and begins their visits. */
export function Manifold({ instrument, onClose }: { instrument: RecordState; onClose: () => void }) {
  const person = useLink().user?.id ?? "";
  const [chosen, choose] = useState<RecordState[]>([instrument]);
  const [judged, setJudged] = useState<{ of: RecordState[]; said: TogetherOutput; wrong: Wrong[] } | undefined>();
  const [search, setSearch] = useState("");
  const [scanning, scan] = useState(false);
  const [error, say] = useState<string | undefined>();
  const [busy, setBusy] = useState(false);
  const so = useRegister(search.trim(), 6);
  useEffect(() => {
    let here = true;
    judge(chosen, person).then(
      (j) => here && setJudged({ of: chosen, ...j }),
      (e: unknown) => {
        console.error(e);
        if (here) say(words.shell.storeBroken);
      },
    );
    return () => {
      here = false;
    };
  }, [chosen, person]);
  const add = async (found: RecordState | undefined) => {
    say(found ? undefined : w.unknown);
    if (!found) return;
    setSearch("");
    choose((old) => (old.some((o) => o.id === found.id) ? old : [...old, found]));
  };
  const scanned = (label: string) => {
    scan(false);
    byLabel(label).then(add, (e: unknown) => console.error(e));
  };
  const known = judged?.of === chosen ? judged : undefined;
  const wrong = (id: string) => known?.wrong.filter((x) => x.id === id).map((x) => x.said) ?? [];
  const go = () => {
    if (!known || known.wrong.length > 0) return;
    setBusy(true);
    begin(chosen, person, known.said)
      .then((first) => navigate(`/visit/${first}`))
      .catch((e: unknown) => {
        console.error(e);
        say(words.shell.storeBroken);
      })
      .finally(() => setBusy(false));
  };
  return (
    <Cover title={w.title} onClose={onClose}>
      <p>{w.about}</p>
      <h3>{w.chosen}</h3>
      <ol class="manifold">
        {chosen.map((it) => (
          <li key={it.id}>
            <span>
              <strong>{text(it, "tag")}</strong> <span class="small quiet">{showRange(value(it, "range"))}</span>
              {wrong(it.id).map((said) => (
                <span key={said} class="why">
                  {said}
                </span>
              ))}
            </span>
            {it === instrument ? null : (
              <Button
                kind="quiet"
                label={w.remove(text(it, "tag"))}
                onClick={() => choose(chosen.filter((o) => o !== it))}
              >
                ×
              </Button>
            )}
          </li>
        ))}
      </ol>
      {scanning ? (
        <Later load={loadScanner} props={{ onEnd: () => scan(false), onLabel: scanned }} />
      ) : (
        <Button size="tall" onClick={() => scan(true)}>
          {w.scan}
        </Button>
      )}
      <Field label={w.find} type="search" value={search} onInput={setSearch} inputMode="search" />
      {search.trim() === "" ? null : (
        <ul class="manifold">
          {so?.rows
            .filter((r) => !chosen.some((c) => c.id === r.id))
            .map((r) => (
              <li key={r.id}>
                <span>
                  <strong>{r.tag}</strong> {r.description} <span class="small quiet">{showRange(r.range)}</span>
                </span>
                <Button
                  label={w.add(r.tag)}
                  onClick={() => void record(r.id).then(add, (e: unknown) => console.error(e))}
                >
                  +
                </Button>
              </li>
            ))}
        </ul>
      )}
      <p role="status">
        {known === undefined
          ? w.looking
          : chosen.length > 1 && known.wrong.length === 0
            ? w.most(`${showDecimal(known.said.high ?? "")} ${known.said.unit ?? ""}`)
            : wrong("").join(" ")}
      </p>
      {error ? <p role="alert">{error}</p> : null}
      <Button kind="main" size="tall" wide disabled={busy || !known || known.wrong.length > 0} onClick={go}>
        {w.start(chosen.length)}
      </Button>
    </Cover>
  );
}
