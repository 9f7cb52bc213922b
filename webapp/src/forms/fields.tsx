import { Button } from "../parts/button";
import { Check } from "../parts/check";
import { Choice, Field as Box } from "../parts/field";
import { kindsWords as w } from "../words/kinds";
import { counting, type Field, opened, ticked, type Typed, type Wrong } from "./form";
import { PasteRows } from "./paste-rows";
import { filled, takesRows } from "./pasted";

type Props = {
  fields: readonly Field[];
  typed: Typed;
  onChange: (t: Typed) => void;
  wrong: Wrong | undefined;
  at?: string;
};

const several = (f: Field) => (f.as === "texts" ? { lines: 3 } : f.as === "text" && f.lines ? { lines: f.lines } : {});
const bare = (f: Field) =>
  (f.as === "text" && !f.lines) ||
  f.as === "number" ||
  f.as === "whole" ||
  f.as === "scaled" ||
  f.as === "time" ||
  f.as === "numbers" ||
  f.as === "date";

/** runs groups boxes that follow one another, so that they share rows if there is room. */
function runs(fields: readonly Field[]): Field[][] {
  const out: Field[][] = [];
  for (const f of fields) {
    const last = out.at(-1);
    if (last?.[0] && bare(last[0]) && bare(f)) last.push(f);
    else out.push([f]);
  }
  return out;
}

/** FormFields draws the fields of a form; a complaint is shown at its field. */
export function FormFields({ fields, typed, onChange, wrong, at = "" }: Props) {
  const put = (name: string, v: Typed["values"][string]) =>
    onChange({ ...typed, values: { ...typed.values, [name]: v } });
  const one = (f: Field) => {
    const path = at + f.name;
    const bad = wrong?.path === path ? wrong.error : undefined;
    const v = typed.values[f.name];
    switch (f.as) {
      case "choice":
        return (
          <div key={f.name}>
            <Choice label={f.label} value={v as string} options={f.options} onChange={(x) => put(f.name, x)} />
            {(bad ?? f.hint) ? (
              <p class={bad ? "complaint" : "quiet small"} role={bad ? "alert" : undefined}>
                {bad ?? f.hint}
              </p>
            ) : null}
          </div>
        );
      case "flag":
        return <Check key={f.name} label={f.label} checked={v === true} onChange={(x) => put(f.name, x)} />;
      case "checks": {
        const list = v as string[];
        return (
          <section key={f.name} class="series" aria-label={f.label}>
            <h3>{f.label}</h3>
            {f.hint ? <p class="quiet small">{f.hint}</p> : null}
            {f.options.map(([word, said]) => (
              <Check
                key={word}
                label={said}
                checked={list.includes(word)}
                onChange={(on) => put(f.name, ticked(f.options, list, word, on))}
              />
            ))}
          </section>
        );
      }
      case "group":
        return (
          <section key={f.name} class="series" aria-label={f.label}>
            <h3>{f.label}</h3>
            {f.hint ? <p class="quiet small">{f.hint}</p> : null}
            {bad ? (
              <p class="complaint" role="alert">
                {bad}
              </p>
            ) : null}
            {f.switch === undefined ? null : (
              <Check
                label={f.switch}
                checked={(v as Typed).on === true}
                onChange={(on) => put(f.name, { ...(v as Typed), on })}
              />
            )}
            {f.switch !== undefined && (v as Typed).on !== true ? null : (
              <FormFields
                fields={f.fields}
                typed={v as Typed}
                onChange={(x) => put(f.name, x)}
                wrong={wrong}
                at={`${path}.`}
              />
            )}
          </section>
        );
      case "list":
        return (
          <Rows
            key={f.name}
            field={f}
            rows={v as Typed[]}
            onChange={(x) => put(f.name, x)}
            wrong={wrong}
            path={path}
            bad={bad}
          />
        );
      default:
        return (
          <Box
            key={f.name}
            label={f.label}
            value={v as string}
            inputMode={f.as === "number" || f.as === "scaled" ? "decimal" : f.as === "whole" ? "numeric" : "text"}
            type={f.as === "date" ? "date" : "text"}
            {...several(f)}
            onInput={(x) => put(f.name, x)}
            {...(f.unit ? { unit: f.unit } : f.as === "time" ? { unit: w.clock } : {})}
            {...(f.hint ? { hint: f.hint } : {})}
            {...(bad ? { error: bad } : {})}
          />
        );
    }
  };
  return (
    <>
      {runs(counting(fields, typed)).map((run) =>
        run.length > 1 ? (
          <div key={run[0]?.name} class="columns">
            {run.map(one)}
          </div>
        ) : (
          run.map(one)
        ),
      )}
    </>
  );
}

function Rows({
  field,
  rows,
  onChange,
  wrong,
  path,
  bad,
}: {
  field: Field & { as: "list" };
  rows: Typed[];
  onChange: (rows: Typed[]) => void;
  wrong: Wrong | undefined;
  path: string;
  bad: string | undefined;
}) {
  const swapped = (i: number) =>
    rows.map((r, n) => (n === i - 1 ? (rows[i] as Typed) : n === i ? (rows[i - 1] as Typed) : r));
  return (
    <section aria-label={field.label}>
      <h3>{field.label}</h3>
      {field.hint ? <p class="quiet small">{field.hint}</p> : null}
      {bad ? (
        <p class="complaint" role="alert">
          {bad}
        </p>
      ) : null}
      <ol class="series">
        {rows.map((row, i) => (
          <li key={i} aria-label={field.item(i + 1)}>
            <p class="row-name">{field.item(i + 1)}</p>
            <FormFields
              fields={field.fields}
              typed={row}
              onChange={(t) => onChange(rows.map((r, n) => (n === i ? t : r)))}
              wrong={wrong}
              at={`${path}[${i}].`}
            />
            <div class="buttons">
              {i > 0 ? (
                <Button kind="quiet" onClick={() => onChange(swapped(i))}>
                  {w.up(field.item(i + 1))}
                </Button>
              ) : null}
              <Button kind="quiet" onClick={() => onChange(rows.filter((_, n) => n !== i))}>
                {w.remove(field.item(i + 1))}
              </Button>
            </div>
          </li>
        ))}
      </ol>
      {rows.length < (field.most ?? 100) ? (
        <Button onClick={() => onChange([...rows, opened(field.fields, {})])}>
          {w.add(field.item(rows.length + 1))}
        </Button>
      ) : null}
      {takesRows(field.fields) ? (
        <PasteRows fields={field.fields} onRows={(more) => onChange([...rows.filter(filled), ...more])} />
      ) : null}
    </section>
  );
}
