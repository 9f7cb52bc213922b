/**
 * build names the version of this program: the hash in its main script's name, or "" if there is
 * none.
 */
export function build(): string {
  if (typeof document === "undefined") return "";
  const src = document.querySelector<HTMLScriptElement>('script[src*="/assets/main-"]')?.src ?? "";
  return /\/main-([0-9A-Z]+)\.js$/.exec(src)?.[1] ?? "";
}
