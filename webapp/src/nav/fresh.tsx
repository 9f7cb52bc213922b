import { useEffect, useRef, useState } from "preact/hooks";
import { ask } from "../link/link";
import { type News, onNews } from "../link/news";
import { Button } from "../parts/button";
import { officeWords } from "../words/office";
import type { Asked } from "./asking";

/** News within this many milliseconds is handled together. */
const together = 150;

/** useNews calls fn soon after news of the office's journal that concerns the page. */
export function useNews(concerns: (n: News) => boolean, fn: () => void): void {
  const now = useRef({ concerns, fn });
  now.current = { concerns, fn };
  useEffect(() => {
    let soon: ReturnType<typeof setTimeout> | undefined;
    const stop = onNews((n) => {
      if (!now.current.concerns(n)) return;
      soon ??= setTimeout(() => {
        soon = undefined;
        now.current.fn();
      }, together);
    });
    return () => {
      stop();
      clearTimeout(soon);
    };
  }, []);
}

/** The visible part of a reply as text: who has looked at it does not count. */
const shown = (reply: unknown): string =>
  JSON.stringify(reply, (name, v: unknown) => (name.startsWith("seen.") ? undefined : v)) ?? "";

/**
 * Fresh says that a shown record has changed since, and shows the change on request, since somebody
 * may be reading or typing there.
 */
export function Fresh<T>({ path, record, asked }: { path: string; record: string; asked: Asked<T> }) {
  const [later, set] = useState("");
  useNews(
    (n) => n.many === true || n.records.includes(record),
    () =>
      ask(path).then(
        (reply) => set(shown(reply)),
        () => undefined, // the page reports the error when somebody acts on it
      ),
  );
  if (later === "" || later === shown(asked.reply)) return null;
  return (
    <div class="caution" role="status">
      <p>{officeWords.visit.newer}</p>
      <Button onClick={asked.again}>{officeWords.visit.look}</Button>
    </div>
  );
}
