import { useEffect, useRef, useState } from "preact/hooks";
import { ask } from "../link/link";
import { type News, onNews } from "../link/news";
import { Button } from "../parts/button";
import { officeWords } from "../words/office";
import type { Asked } from "./asking";

/** What comes together is looked at together. */
const together = 150;

/** useNews calls fn soon after something came into the office's journal that concerns the page. */
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

/** What is shown of a reply, written out: that somebody looked at it changes nothing of that. */
const shown = (reply: unknown): string =>
  JSON.stringify(reply, (name, v: unknown) => (name.startsWith("seen.") ? undefined : v)) ?? "";

/**
 * Fresh says that what is shown of a record has changed since, and shows it when it is asked to:
 * somebody may be reading or writing there.
 */
export function Fresh<T>({ path, record, asked }: { path: string; record: string; asked: Asked<T> }) {
  const [later, set] = useState("");
  useNews(
    (n) => n.many === true || n.records.includes(record),
    () =>
      ask(path).then(
        (reply) => set(shown(reply)),
        () => undefined, // the page says what is wrong when something is done on it
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
