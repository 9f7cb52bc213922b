/** One waiting item of a list that somebody works through. */
export type Listed = { id: string; tag: string };

const kept = "gaugewright:list";

/** keepList remembers the shown list, so that the page of one item knows the next. */
export function keepList(list: Listed[]): void {
  try {
    sessionStorage.setItem(kept, JSON.stringify(list));
  } catch {
    // storage switched off: there is no next item then
  }
}

/** nextOf gives the item after another one in the list that was shown last. */
export function nextOf(id: string): Listed | undefined {
  try {
    const list = JSON.parse(sessionStorage.getItem(kept) ?? "[]") as Listed[];
    const at = list.findIndex((x) => x.id === id);
    return at < 0 ? undefined : list[at + 1];
  } catch {
    return undefined;
  }
}
