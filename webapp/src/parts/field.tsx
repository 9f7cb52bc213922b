import { useId } from "preact/hooks";
import { UnitPick } from "./unit-pick";

export type FieldProps = {
  label: string;
  value: string;
  onInput: (value: string) => void;
  type?: "text" | "password" | "search" | "date" | "time";
  /** Shown after the box, as a unit. */
  unit?: string;
  /** Other units in which it may be typed. */
  units?: readonly string[];
  onUnit?: (unit: string) => void;
  hint?: string;
  error?: string;
  lines?: number;
  autocomplete?: string;
  inputMode?: "text" | "decimal" | "numeric" | "search" | "none";
  required?: boolean;
  disabled?: boolean;
};

/** Field is a labelled box to type into, with its unit, hint and complaint. */
export function Field(p: FieldProps) {
  const id = useId();
  const note = p.error ?? p.hint;
  const common = {
    id,
    value: p.value,
    required: p.required ?? false,
    disabled: p.disabled ?? false,
    "aria-invalid": p.error !== undefined,
    "aria-describedby": note ? `${id}-note` : undefined,
    onInput: (e: Event) => p.onInput((e.currentTarget as HTMLInputElement).value),
  };
  return (
    <div class={p.error ? "field wrong" : "field"}>
      <label for={id}>{p.label}</label>
      <div class="field-row">
        {p.lines ? (
          <textarea {...common} rows={p.lines} />
        ) : (
          // The typings have one shape per kind of box; a box that may be any of a few has to name
          // one.
          <input
            {...common}
            type={(p.type ?? "text") as "text"}
            autocomplete={p.autocomplete ?? "off"}
            inputMode={p.inputMode ?? "text"}
            spellcheck={false}
            autocapitalize="none"
          />
        )}
        {p.unit && p.onUnit ? (
          <UnitPick unit={p.unit} units={p.units} onUnit={p.onUnit} />
        ) : p.unit ? (
          <span class="unit">{p.unit}</span>
        ) : null}
      </div>
      {note ? (
        <p class="note" id={`${id}-note`} role={p.error ? "alert" : undefined}>
          {note}
        </p>
      ) : null}
    </div>
  );
}

export type ChoiceProps<T extends string> = {
  label: string;
  value: T | undefined;
  options: readonly (readonly [T, string])[];
  onChange: (value: T) => void;
};

/** Choice is a labelled row of options, one of which is chosen. */
export function Choice<T extends string>(p: ChoiceProps<T>) {
  const name = useId();
  return (
    <fieldset class="choice">
      <legend>{p.label}</legend>
      {p.options.map(([v, shown]) => (
        <label key={v} class={v === p.value ? "chosen" : ""}>
          <input type="radio" name={name} checked={v === p.value} onChange={() => p.onChange(v)} />
          <span>{shown}</span>
        </label>
      ))}
    </fieldset>
  );
}
