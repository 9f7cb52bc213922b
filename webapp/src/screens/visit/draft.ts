import { useState } from "preact/hooks";

const prefix = "draft ";

function read(key: string): string {
  try {
    return localStorage.getItem(prefix + key) ?? "";
  } catch {
    return ""; // storage switched off: what is typed lasts as long as the page
  }
}

function write(key: string, text: string): void {
  try {
    if (text === "") localStorage.removeItem(prefix + key);
    else localStorage.setItem(prefix + key, text);
  } catch {
    // full or switched off: the text is still on the screen, and saving it reports the error
  }
}

/**
 * useDraft persists unsaved input across reloads until it is emptied or the third return value is
 * called.
 */
export function useDraft(key: string, first = ""): [string, (text: string) => void, () => void] {
  const [text, setText] = useState(() => read(key) || first);
  return [
    text,
    (t) => {
      write(key, t);
      setText(t);
    },
    () => write(key, ""),
  ];
}

/** forgetDrafts drops what was typed for a record and never kept. */
export function forgetDrafts(record: string): void {
  try {
    for (const key of Object.keys(localStorage))
      if (key.startsWith(`${prefix}${record} `)) localStorage.removeItem(key);
  } catch {
    // storage switched off: there is nothing to drop
  }
}
