import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import { useKind, useRegister } from "../../store/hooks";
import { record } from "../../store/store";
import { asObject, list, text, value } from "../../wire/records";
import { programmeWords as w } from "../../words/programme";
import { showRange } from "../../records/facts";
import { itemOf } from "../../records/item";
import type { Chosen, Doc, Facts } from "../../records/programme";

const most = 6;

/** Instruments offers those of this device that match what is typed. */
function Instruments({ onChoose }: { onChoose: (c: Chosen) => void }) {
  const [tag, setTag] = useState("");
  const so = useRegister(tag.trim(), most);
  const choose = async (id: string) => {
    const i = await record(id);
    if (i)
      onChoose({
        name: `${text(i, "tag")}, ${showRange(value(i, "range"))}`,
        facts: (await itemOf(i)).bears,
      });
  };
  return (
    <>
      <Field label={w.againstTag} value={tag} onInput={setTag} type="search" />
      <ul class="rows">
        {(tag.trim() === "" ? [] : (so?.rows ?? [])).map((i) => (
          <li key={i.id}>
            <button type="button" class="step-row" onClick={() => void choose(i.id).catch(console.error)}>
              <strong>{w.againstThis(i.tag)}</strong> <span class="quiet">{showRange(i.range)}</span>
            </button>
          </li>
        ))}
      </ul>
    </>
  );
}

/** Standards offers every range of every standard of this device. */
function Standards({ chosen, onChoose }: { chosen: string; onChoose: (c: Chosen | undefined) => void }) {
  const ranges = (useKind("standard") ?? []).flatMap((s) =>
    list(s, "ranges").flatMap((r) => {
      const o = asObject(r);
      const standard = Object.fromEntries(
        ["low", "high", "unit", "mode", "max_rate"].flatMap((n) => (o[n] === undefined ? [] : [[n, o[n]]])),
      ) as Doc;
      return o["unit"]
        ? [{ name: `${text(s, "name")} ${text(s, "serial")}, ${showRange(r)}`, facts: { standard } }]
        : [];
    }),
  );
  return (
    <Pick
      label={w.againstStandard}
      value={chosen}
      onChange={(name) => onChoose(ranges.find((r) => r.name === name))}
      options={[["", w.againstTyped], ...ranges.map((r) => [r.name, r.name] as const)]}
    />
  );
}

/**
 * Against asks what the programme is checked against while it is written: an instrument and a
 * standard of this device, or numbers in the programme's unit.
 */
export function Against({ facts, put }: { facts: Facts; put: (facts: Facts) => void }) {
  const [open, setOpen] = useState(facts.instrument !== undefined || facts.standard !== undefined);
  const box = (name: "low" | "high" | "standardHigh" | "maxRate" | "weakest" | "relief", label: string) => (
    <Field label={label} value={facts[name]} inputMode="decimal" onInput={(v) => put({ ...facts, [name]: v })} />
  );
  return (
    <details class="opened" open={open} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>{w.against}</summary>
      <p class="small quiet">{w.againstHint}</p>
      {open ? (
        <>
          {facts.instrument ? (
            <p>
              {facts.instrument.name}{" "}
              <Button size="tall" onClick={() => put({ ...facts, instrument: undefined })}>
                {w.againstOther}
              </Button>
            </p>
          ) : (
            <Instruments onChoose={(instrument) => put({ ...facts, instrument })} />
          )}
          <Standards chosen={facts.standard?.name ?? ""} onChoose={(standard) => put({ ...facts, standard })} />
        </>
      ) : null}
      <div class="columns">
        {facts.instrument ? null : box("low", w.low)}
        {facts.instrument ? null : box("high", w.high)}
        {facts.standard ? null : box("standardHigh", w.standardHigh)}
        {facts.instrument && facts.standard ? null : box("maxRate", w.maxRate)}
        {box("weakest", w.weakest)}
        {box("relief", w.relief)}
      </div>
      {facts.weakest.trim() === "" ? null : (
        <Field
          label={w.weakestPart}
          value={facts.weakestPart}
          onInput={(weakestPart) => put({ ...facts, weakestPart })}
        />
      )}
    </details>
  );
}
