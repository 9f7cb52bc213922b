import { useId } from "preact/hooks";

export type PickProps<T extends string> = {
  label: string;
  value: T;
  options: readonly (readonly [T, string])[];
  onChange: (value: T) => void;
  disabled?: boolean;
};

/** Pick is a labelled drop-down list, for values that are mostly right already. */
export function Pick<T extends string>(p: PickProps<T>) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{p.label}</label>
      <select
        id={id}
        value={p.value}
        disabled={p.disabled ?? false}
        onChange={(e) => p.onChange(e.currentTarget.value as T)}
      >
        {p.options.map(([v, shown]) => (
          <option key={v} value={v}>
            {shown}
          </option>
        ))}
      </select>
    </div>
  );
}
