/** One that waits, in a list that somebody goes through. */
export type Listed = { id: string; tag: string };

const kept = "gaugewright:list";

/** keepList keeps the list that is shown, so that the page of one knows the next. */
export function keepList(list: Listed[]): void {
  try {
    sessionStorage.setItem(kept, JSON.stringify(list));
  } catch {
    // storage switched off: there is no next one then
  }
}

/** nextOf gives the one after another of the list that was shown last. */
export function nextOf(id: string): Listed | undefined {
  try {
    const list = JSON.parse(sessionStorage.getItem(kept) ?? "[]") as Listed[];
    const at = list.findIndex((x) => x.id === id);
    return at < 0 ? undefined : list[at + 1];
  } catch {
    return undefined;
  }
}
