import { useEffect, useRef, useState } from "preact/hooks";
import { ask } from "../link/link";
import type { TableReply } from "../records/office";
import { saying } from "./asking";
import { useNews } from "./fresh";

const pause = 150;

/**
 * useTable fetches a piece of the register, again a moment after the query changes and soon after
 * news of the office's journal. The last piece stays visible meanwhile.
 */
export function useTable(query: string) {
  const [state, set] = useState<{ query: string; reply?: TableReply; error?: string }>({ query: "" });
  const turn = useRef(0);
  const busy = useRef(false);
  const read = () => {
    const mine = ++turn.current;
    busy.current = true;
    ask(`/api/office/table?${query}`)
      .then(
        (reply) => mine === turn.current && set({ query, reply: reply as TableReply }),
        (e: unknown) => mine === turn.current && set((old) => ({ ...old, query, error: saying(e) })),
      )
      .finally(() => {
        if (mine === turn.current) busy.current = false;
      });
  };
  useEffect(() => {
    const t = setTimeout(read, state.reply ? pause : 0);
    return () => {
      clearTimeout(t);
      turn.current++;
    };
  }, [query]);
  useNews(
    () => !busy.current,
    () => read(),
  );
  return { table: state.reply, error: state.error, current: state.query === query, again: read };
}
