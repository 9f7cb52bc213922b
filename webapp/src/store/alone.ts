let tail: Promise<unknown> = Promise.resolve();

/**
 * alone runs one writer at a time: in this tab by a chain, across tabs by a lock if the browser has
 * them.
 */
export function alone<T>(work: () => Promise<T>): Promise<T> {
  const run = async (): Promise<T> =>
    locked() ? await navigator.locks.request("gaugewright-write", work) : await work();
  const result = tail.then(run, run);
  tail = result.catch(() => undefined);
  return result;
}

/** locked says whether the browser keeps other tabs from writing meanwhile. */
export function locked(): boolean {
  return typeof navigator !== "undefined" && navigator.locks !== undefined;
}
