/** Check is a labelled tick box. */
export function Check({
  label,
  checked,
  onChange,
}: {
  label: string;
  checked: boolean;
  onChange: (v: boolean) => void;
}) {
  return (
    <label class="check">
      <input type="checkbox" checked={checked} onChange={() => onChange(!checked)} />
      <span>{label}</span>
    </label>
  );
}
