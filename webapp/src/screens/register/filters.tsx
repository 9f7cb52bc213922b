import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import { type Column, columns, type Filter, filters, type Look, narrowed, toggled, without } from "../../records/look";
import type { TableReply } from "../../records/office";
import { useKind } from "../../store/hooks";
import { text } from "../../wire/records";
import { registerWords as w } from "../../words/register";
import { words } from "../../words/words";

/** named writes a value of a filter in words. */
export function named(filter: Filter | "standard", value: string): string {
  if (value === "") return w.blank;
  if (filter === "kind") return w.kinds[value] ?? value;
  if (filter === "verdict") return (words.verdict as Record<string, string>)[value] ?? value;
  return value;
}

/** Fold is a button that opens a panel below it. Escape or a press elsewhere closes it. */
export function Fold({ name, on, children }: { name: string; on?: boolean; children: ComponentChildren }) {
  return (
    <details
      class={on ? "fold on" : "fold"}
      name="register"
      onKeyDown={(e) => {
        if (e.key !== "Escape") return;
        e.currentTarget.open = false;
        e.currentTarget.querySelector("summary")?.focus();
        e.stopPropagation();
      }}
    >
      <summary>{name}</summary>
      <div class="panel">{children}</div>
    </details>
  );
}

type Option = { value: string; name: string; count?: number };

function Options(p: {
  label: string;
  options: Option[];
  chosen: readonly string[];
  one?: boolean;
  onChoose: (value: string) => void;
}) {
  const [part, narrow] = useState("");
  const many = p.options.length > 12;
  const shown = p.options.filter((o) => o.name.toLowerCase().includes(part.toLowerCase()));
  return (
    <fieldset class="options">
      <legend class="unseen">{p.label}</legend>
      {many ? <Field label={w.part} type="search" value={part} onInput={narrow} /> : null}
      {shown.map((o) => (
        <label key={o.value}>
          <input
            type={p.one ? "radio" : "checkbox"}
            name={p.one ? p.label : undefined}
            checked={p.chosen.includes(o.value)}
            onChange={() => p.onChoose(o.value)}
          />
          <span>{o.name}</span>
          {o.count === undefined ? null : <span class="number quiet">{o.count.toLocaleString()}</span>}
        </label>
      ))}
    </fieldset>
  );
}

/** options lists the values of a filter, including chosen ones that no instrument has any more. */
function options(f: Filter, look: Look, table: TableReply | undefined): Option[] {
  const values = table?.values[f] ?? [];
  const gone = (look.only[f] ?? []).filter((v) => !values.some((x) => x.value === v));
  return [...values, ...gone.map((value) => ({ value, count: 0 }))].map((x) => ({ ...x, name: named(f, x.value) }));
}

type FiltersProps = { look: Look; table: TableReply | undefined; onLook: (look: Look) => void };

/**
 * Filters is the row of the register's filters: one panel per column, and the filters that are on.
 */
export function Filters({ look, table, onLook }: FiltersProps) {
  const standards = useKind("standard") ?? [];
  const standardName = (id: string) => {
    const s = standards.find((x) => x.id === id);
    return w.standards[id] ?? (s ? [text(s, "name"), text(s, "serial")].filter(Boolean).join(" ") : id);
  };
  const units = [...new Set((table?.values["range"] ?? []).map((v) => v.value.split(" ").pop() ?? ""))].filter(Boolean);
  const set = (part: Partial<Look>) => onLook({ ...look, ...part });
  const choose = (f: Filter, v: string) => {
    const { [f]: old = [], ...rest } = look.only;
    const next = toggled(old, v);
    set({ only: next.length > 0 ? { ...rest, [f]: next } : rest });
  };
  const ends = look.unit !== "" && look.atLeast + look.atMost !== "";
  const on: { name: string; off: () => void }[] = [
    ...filters.flatMap((f) =>
      (look.only[f] ?? []).map((v) => ({
        name: `${w.column[f]}: ${named(f, v)}`,
        off: () => choose(f, v),
      })),
    ),
    ...(look.due === "" ? [] : [{ name: `${w.due}: ${w.dues[look.due] ?? look.due}`, off: () => set({ due: "" }) }]),
    ...(ends
      ? [
          {
            name: `${w.atLeast} ${look.atLeast || "–"} ${w.atMost} ${look.atMost || "–"} ${look.unit}`,
            off: () => set({ atLeast: "", atMost: "" }),
          },
        ]
      : []),
    ...(look.standard === ""
      ? []
      : [{ name: `${w.standard}: ${standardName(look.standard)}`, off: () => set({ standard: "" }) }]),
  ];
  return (
    <section class="filters" aria-label={w.filters}>
      <div>
        <Fold name={w.due} on={look.due !== ""}>
          <Options
            label={w.due}
            one
            options={Object.entries(w.dues).map(([value, name]) => ({ value, name }))}
            chosen={[look.due]}
            onChoose={(due) => set({ due })}
          />
        </Fold>
        {filters.map((f) => (
          <Fold key={f} name={w.column[f] ?? f} on={look.only[f] !== undefined || (f === "range" && ends)}>
            {f === "range" && units.length > 0 ? (
              <div class="ends">
                <Field
                  label={w.atLeast}
                  inputMode="decimal"
                  value={look.atLeast}
                  onInput={(v) => set(end("atLeast", v))}
                />
                <Field
                  label={w.atMost}
                  inputMode="decimal"
                  value={look.atMost}
                  onInput={(v) => set(end("atMost", v))}
                />
                <Pick
                  label={w.unit}
                  value={look.unit || (units[0] ?? "")}
                  options={units.map((u) => [u, u] as const)}
                  onChange={(unit) => set({ unit })}
                />
              </div>
            ) : null}
            <Options
              label={w.column[f] ?? f}
              options={options(f, look, table)}
              chosen={look.only[f] ?? []}
              onChoose={(v) => choose(f, v)}
            />
          </Fold>
        ))}
        <Fold name={w.standard} on={look.standard !== ""}>
          <p class="small quiet">{w.standardHint}</p>
          <Options
            label={w.standard}
            one
            options={[
              ...Object.entries(w.standards).map(([value, name]) => ({ value, name })),
              ...standards.map((s) => ({ value: s.id, name: standardName(s.id) })),
            ]}
            chosen={[look.standard]}
            onChoose={(standard) => set({ standard })}
          />
        </Fold>
      </div>
      {narrowed(look) ? (
        <div class="on">
          {on.map((x) => (
            <Button key={x.name} pressed label={w.off(x.name)} onClick={x.off}>
              {x.name} ×
            </Button>
          ))}
          <Button kind="quiet" onClick={() => onLook(without(look))}>
            {w.reset}
          </Button>
        </div>
      ) : null}
    </section>
  );

  function end(name: "atLeast" | "atMost", typed: string): Partial<Look> {
    return { [name]: typed.trim().replace(",", "."), unit: look.unit || (units[0] ?? "") };
  }
}

/** Columns chooses which columns are shown. */
export function Columns({ look, onLook }: { look: Look; onLook: (look: Look) => void }) {
  const choose = (c: string) => {
    const next = toggled(look.cols, c as Column);
    onLook({ ...look, cols: columns.filter((x) => x === "tag" || next.includes(x)) });
  };
  return (
    <Fold name={w.columns}>
      <Options
        label={w.columns}
        options={columns.filter((c) => c !== "tag").map((c) => ({ value: c, name: w.column[c] ?? c }))}
        chosen={look.cols}
        onChoose={choose}
      />
    </Fold>
  );
}
