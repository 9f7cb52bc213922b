import type { ComponentChildren } from "preact";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import { traceWords as w } from "../../words/trace";
import { type Form, orderNeeded, timeForm, timeUnits, unitsFor } from "./reading";
import type { Guess, Seen } from "../../records/trace";

type Props = {
  form: Form;
  seen: Seen;
  name: string;
  rows: string;
  onChange: (form: Form) => void;
  onRead: () => void;
  chooser: ComponentChildren;
};

const roles = Object.entries(w.roles) as [Guess, string][];

/** Columns shows what a record seems to be, for a person to confirm or to change. */
export function Columns({ form, seen, name, rows, onChange, onRead, chooser }: Props) {
  const set = (change: Partial<Form>) => onChange({ ...form, ...change });
  const time = timeForm(form, seen.columns, seen);
  return (
    <>
      <p>{w.seems(name, rows)}</p>
      {seen.warnings.map((t) => (
        <p key={t} class="caution">
          {t}
        </p>
      ))}
      <ul class="trace-columns">
        {seen.columns.map((c, i) => {
          const role = form.roles[i] ?? "";
          const own = w.column(c.column, c.name);
          const units = unitsFor(role);
          const given = form.units[i] ?? "";
          return (
            <li key={c.column}>
              <strong>{own}</strong>
              <samp class="quiet">{w.samples([...c.samples.slice(0, 3), "\u2026"].join(" \u00b7 "))}</samp>
              <div class="pair">
                <Pick
                  label={w.role}
                  value={role}
                  options={roles}
                  onChange={(r) => set({ roles: form.roles.map((old, k) => (k === i ? r : old)) })}
                />
                {units.length > 0 ? (
                  <Pick
                    label={w.unit}
                    value={units.includes(given) ? given : ""}
                    options={[
                      ...(units.includes(given) ? [] : [["", "?"] as const]),
                      ...units.map((u) => [u, u] as const),
                    ]}
                    onChange={(u) => set({ units: form.units.map((old, k) => (k === i ? u : old)) })}
                  />
                ) : null}
                {role === "time" && c.kind === "numbers" ? (
                  <Pick
                    label={w.unit}
                    value={form.timeUnit}
                    options={timeUnits.map((u) => [u, u] as const)}
                    onChange={(timeUnit) => set({ timeUnit })}
                  />
                ) : null}
              </div>
              {role === "pressure" ? (
                <Choice label={w.mode} value={form.mode} options={w.modes} onChange={(mode) => set({ mode })} />
              ) : null}
              {role === "contact" && c.kind === "numbers" ? (
                <Field label={w.above} value={form.above} onInput={(above) => set({ above })} inputMode="decimal" />
              ) : null}
              {role === "contact" && c.kind !== "numbers"
                ? c.words.map((word) => (
                    <Choice
                      key={word}
                      label={w.state(word)}
                      value={form.states[word] ?? ""}
                      options={w.states}
                      onChange={(state) => set({ states: { ...form.states, [word]: state } })}
                    />
                  ))
                : null}
            </li>
          );
        })}
      </ul>
      {orderNeeded(form, seen) ? (
        <Choice
          label={w.order}
          value={form.order}
          options={Object.entries(w.orders)}
          onChange={(order) => set({ order })}
        />
      ) : null}
      {time === "index" ? (
        <Field
          label={w.interval}
          value={form.interval}
          onInput={(interval) => set({ interval })}
          unit="s"
          inputMode="decimal"
        />
      ) : null}
      <div class="pair even trace-form">
        <Pick
          label={w.separator}
          value={form.separator}
          options={Object.entries(w.separators)}
          onChange={(separator) => set({ separator })}
        />
        <Pick
          label={w.decimal}
          value={form.decimal}
          options={Object.entries(w.decimals)}
          onChange={(decimal) => set({ decimal })}
        />
      </div>
      <Field label={w.first} value={form.first} onInput={(first) => set({ first })} inputMode="numeric" />
      <div class="ticks">
        <label>
          <input type="checkbox" checked={form.bridge} onChange={() => set({ bridge: !form.bridge })} />
          <span>{w.bridge}</span>
        </label>
      </div>
      <Button kind="main" size="tall" wide onClick={onRead}>
        {w.confirm}
      </Button>
      {chooser}
    </>
  );
}
