import { useEffect } from "preact/hooks";
import { type Asked, useAsk, Waiting } from "../../nav/asking";
import type { Progress } from "../../records/figures-reply";
import { historyWords as w } from "../../words/history";

const pause = 700;

/** useRead fetches figures, and again until all years have been read. */
export function useRead<T extends { reading?: Progress }>(path: string): Asked<T> {
  const asked = useAsk<T>(path);
  const reading = asked.reply?.reading;
  useEffect(() => {
    if (!reading) return;
    const t = setTimeout(asked.again, pause);
    return () => clearTimeout(t);
  }, [asked.reply]);
  return asked;
}

/** Reading shows how far the reading is, that a reply is on its way, or why there is none. */
export function Reading({ asked }: { asked: Asked<{ reading?: Progress }> }) {
  const reading = asked.reply?.reading;
  if (!reading) return <Waiting asked={asked} />;
  return (
    <div role="status">
      <p>{w.reading(reading.done, reading.of)}</p>
      <progress value={reading.done} max={Math.max(reading.of, 1)} aria-label={w.title} />
    </div>
  );
}
