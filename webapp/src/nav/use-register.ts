import { useEffect, useState } from "preact/hooks";
import { ask } from "../link/link";
import { saying } from "./asking";
import type { Gauge, RegisterReply } from "../records/office";

const pause = 250;

/**
 * useRegister reads what a query of the register finds, piece by piece: again a moment after the
 * query changes, and further with more.
 */
export function useRegister(query: string) {
  const [list, setList] = useState<Gauge[] | undefined>();
  const [after, setAfter] = useState("");
  const [error, setError] = useState<string | undefined>();
  const read = (from: string, here: () => boolean) =>
    ask(`/api/office/register?${query}&after=${encodeURIComponent(from)}`).then(
      (got) => {
        if (!here()) return;
        const reply = got as RegisterReply;
        setList((old) => (from === "" ? reply.instruments : [...(old ?? []), ...reply.instruments]));
        setAfter(reply.after);
        setError(undefined);
      },
      (e: unknown) => {
        if (here()) setError(saying(e));
      },
    );
  useEffect(() => {
    let here = true;
    const t = setTimeout(() => void read("", () => here), pause);
    return () => {
      here = false;
      clearTimeout(t);
    };
  }, [query]);
  return { list, after, error, more: () => read(after, () => true) };
}
