/** download saves a file for the person. */
export function download(name: string, body: Blob): void {
  const url = URL.createObjectURL(body);
  const a = document.createElement("a");
  a.href = url;
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
