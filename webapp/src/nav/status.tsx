import { useEffect, useState } from "preact/hooks";
import { type LinkState, link } from "../link/link";
import { useLive } from "../store/hooks";
import { queue } from "../store/store";
import { showAge, words } from "../words/words";

const day = 86_400_000;

/** useLink follows the state of the link. */
export function useLink(): LinkState {
  const [state, set] = useState(link.now());
  useEffect(() => link.subscribe(set), []);
  return state;
}

/** useQueue follows what waits to be sent. */
export function useQueue() {
  return useLive(queue, () => true, []);
}

/**
 * useKept says whether the browser has promised to keep this device's storage, and whether the
 * program is installed; undefined until both are known.
 */
export function useKept(): { persisted: boolean; installed: boolean } | undefined {
  const [state, set] = useState<{ persisted: boolean; installed: boolean } | undefined>();
  useEffect(() => {
    const installed = matchMedia("(display-mode: standalone)").matches;
    const look = () => {
      const asked = navigator.storage?.persisted?.() ?? Promise.resolve(false);
      asked.then(
        (persisted) => set({ persisted, installed }),
        () => set({ persisted: false, installed }),
      );
    };
    look();
    document.addEventListener("visibilitychange", look);
    return () => document.removeEventListener("visibilitychange", look);
  }, []);
  return state;
}

/** useNow gives the time, updated every half minute, for showing ages. */
export function useNow(): number {
  const [now, set] = useState(Date.now());
  useEffect(() => {
    const t = setInterval(() => set(Date.now()), 30_000);
    return () => clearInterval(t);
  }, []);
  return now;
}

/**
 * SyncLine says on every screen what has not reached the office yet and when the office was last
 * reached. With brief it is a sign of fixed size that leads there.
 */
export function SyncLine({ brief = false }: { brief?: boolean }) {
  const state = useLink();
  const q = useQueue();
  const now = useNow();
  const kept = useKept();
  const w = words.sync;
  if (!q) return <p class="sync-line">{words.shell.loading}</p>;
  const parts: string[] = [];
  if (q.count > 0) parts.push(w.waiting(q.count));
  if (q.photos > 0) parts.push(w.photos(q.photos));
  if (parts.length === 0) parts.push(w.allSent);
  for (const o of q.others) parts.push(w.others(o.count, o.name));
  if (q.oldest !== undefined) parts.push(w.since(showAge(q.oldest, now)));
  if (q.refused.length > 0) parts.push(w.refused(q.refused.length));
  if (state.running) parts.push(w.running);
  else if (state.problem) parts.push(w[state.problem]);
  parts.push(state.last === undefined ? w.never : w.last(showAge(state.last, now)));
  if (kept && !kept.persisted) parts.push(kept.installed ? w.tabInstalled : w.tab);
  // What fits one line: how much waits, and the obstacle or the time of the last contact with the
  // office.
  const last = state.last === undefined ? w.never : w.last(showAge(state.last, now));
  const short = [
    ...(q.refused.length > 0 ? [w.refused(q.refused.length)] : []),
    state.running ? w.running : state.problem ? w[state.problem] : last,
  ];
  const old = q.oldest !== undefined && now - q.oldest > 3 * day;
  const waits = q.count + q.photos + q.others.length > 0;
  if (brief)
    return (
      <div class="sync-sign" role="status">
        <a href="/device">
          <svg viewBox="0 0 24 24" aria-hidden="true">
            <path d="M3 10a13 13 0 0 1 18 0M6.5 14a8 8 0 0 1 11 0" />
            <circle cx="12" cy="18" r="1.5" />
            {state.problem ? <path d="M4 3l16 18" /> : null}
            {waits ? <circle class="solid" cx="19" cy="18" r="3.5" /> : null}
          </svg>
          <span class="unseen">{old ? `${parts.join(" · ")}. ${w.old}` : parts.join(" · ")}</span>
        </a>
      </div>
    );
  const [first, ...rest] = parts;
  return (
    <div class={waits ? "sync-line waits" : "sync-line"} role="status">
      <a href="/device">
        <svg viewBox="0 0 24 24" aria-hidden="true">
          <path d="M3 10a13 13 0 0 1 18 0M6.5 14a8 8 0 0 1 11 0" />
          <circle cx="12" cy="18" r="1.5" />
          {state.problem ? <path d="M4 3l16 18" /> : null}
        </svg>
        <span>
          {first}
          {first !== undefined && short.length > 0 ? ` · ${short.join(" · ")}` : ""}
        </span>
        <span class="unseen">{rest.filter((p) => !short.includes(p)).map((p) => ` · ${p}`)}</span>
      </a>
      {old ? <p class="sync-old">{w.old}</p> : null}
    </div>
  );
}
