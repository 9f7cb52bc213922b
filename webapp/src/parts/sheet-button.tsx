/** SheetButton reads a table from a file that a spreadsheet saved. */
export function SheetButton({
  label,
  disabled,
  onFile,
}: {
  label: string;
  disabled: boolean;
  onFile: (file: File | undefined) => void;
}) {
  return (
    <label class="button plain file">
      {label}
      <input
        type="file"
        accept=".csv,.txt,.tsv,text/csv,text/plain"
        disabled={disabled}
        onChange={(e) => onFile(e.currentTarget.files?.[0])}
      />
    </label>
  );
}
