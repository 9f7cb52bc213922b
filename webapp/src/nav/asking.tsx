import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { ask, LinkError, link } from "../link/link";
import { Button } from "../parts/button";
import { download } from "../parts/download";
import { officeWords } from "../words/office";
import { sentence, words } from "../words/words";

const w = officeWords;

/** saying writes an error as a sentence for a person. */
export function saying(e: unknown): string {
  if (!(e instanceof LinkError)) {
    console.error(e);
    return words.shell.broken;
  }
  if (e.problem === "offline" || e.problem === "portal") return w.offline;
  return e.problem === "login" ? words.sync.login : w.failed(sentence(e.message));
}

export type Asked<T> = { reply: T | undefined; error: string | undefined; again: () => void };

/**
 * useAsk fetches a document from the office's API, again when the path changes or again is called.
 * The last reply stays visible meanwhile.
 */
export function useAsk<T>(path: string): Asked<T> {
  const [state, set] = useState<{ path: string; reply: T | undefined; error: string | undefined }>({
    path,
    reply: undefined,
    error: undefined,
  });
  const turn = useRef(0);
  const again = () => {
    const mine = ++turn.current;
    ask(path).then(
      (reply) => mine === turn.current && set({ path, reply: reply as T, error: undefined }),
      (e: unknown) =>
        mine === turn.current &&
        set((old) => ({ path, reply: old.path === path ? old.reply : undefined, error: saying(e) })),
    );
  };
  useEffect(() => {
    again();
    return () => {
      turn.current++;
    };
  }, [path]);
  return state.path === path
    ? { reply: state.reply, error: state.error, again }
    : { reply: undefined, error: undefined, again };
}

/** Waiting shows that a reply is on its way, or why there is none. */
export function Waiting({ asked }: { asked: Asked<unknown> }) {
  if (asked.error === undefined) return asked.reply === undefined ? <p class="quiet">{words.shell.loading}</p> : null;
  return (
    <div role="alert">
      <p>{asked.error}</p>
      <Button onClick={asked.again}>{w.again}</Button>
    </div>
  );
}

/** useDoing runs one action at a time and keeps its error. */
export function useDoing() {
  const [busy, setBusy] = useState(false);
  const [error, say] = useState<string | undefined>();
  const run = (work: () => Promise<void>, explain: (e: unknown) => string = saying) => {
    if (busy) return;
    setBusy(true);
    say(undefined);
    work()
      .catch((e: unknown) => say(explain(e)))
      .finally(() => setBusy(false));
  };
  return { busy, error, say, run };
}

/** send posts a document to the office's API. */
export function send(path: string, body: unknown, method = "POST"): Promise<unknown> {
  return ask(path, { method, body: JSON.stringify(body) });
}

/** save fetches a file from the office's API and saves it for the person. */
export async function save(path: string, name: string, init?: RequestInit): Promise<void> {
  const response = await link.request(path, init);
  if (!response.ok) {
    const body = (await response.json().catch(() => ({}))) as { error?: { code?: string; message?: string } };
    throw new LinkError(
      "server",
      response.status,
      body.error?.code ?? "",
      body.error?.message ?? String(response.status),
    );
  }
  download(name, await response.blob());
}

/** Complaint shows what went wrong with a person's action. */
export function Complaint({ error }: { error: string | undefined }) {
  return error === undefined ? null : (
    <p class="complaint" role="alert">
      {error}
    </p>
  );
}

/** Facts is a list of names and values. It leaves out those without a value. */
export function Facts({ facts }: { facts: [string, ComponentChildren][] }) {
  const known = facts.filter(([, v]) => v !== "" && v !== undefined && v !== null);
  return known.length === 0 ? (
    <p class="quiet">{w.visit.none}</p>
  ) : (
    <dl class="facts">
      {known.map(([name, v]) => (
        <>
          <dt>{name}</dt>
          <dd>{v}</dd>
        </>
      ))}
    </dl>
  );
}
