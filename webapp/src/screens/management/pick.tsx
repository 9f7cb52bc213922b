import { useId } from "preact/hooks";

/** Pick is a labelled list for a row of filters. */
export function Pick({
  label,
  value,
  options,
  onChange,
}: {
  label: string;
  value: string;
  options: readonly (readonly [string, string])[];
  onChange: (value: string) => void;
}) {
  const id = useId();
  return (
    <span class="pick">
      <label for={id}>{label}</label>
      <select id={id} value={value} onChange={(e) => onChange((e.currentTarget as HTMLSelectElement).value)}>
        {options.map(([v, name]) => (
          <option key={v} value={v}>
            {name}
          </option>
        ))}
      </select>
    </span>
  );
}
