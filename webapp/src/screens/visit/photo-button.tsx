/** PhotoButton takes a picture with the camera, or chooses one from the phone. */
export function PhotoButton({
  label,
  disabled,
  onFile,
}: {
  label: string;
  disabled: boolean;
  onFile: (file: File | undefined) => void;
}) {
  return (
    <label class="button plain tall file">
      {label}
      <input
        type="file"
        accept="image/*"
        capture="environment"
        disabled={disabled}
        onChange={(e) => {
          onFile(e.currentTarget.files?.[0]);
          e.currentTarget.value = "";
        }}
      />
    </label>
  );
}
