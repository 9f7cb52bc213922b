/** StoreError says why the device could not keep something. */
export class StoreError extends Error {
  readonly code: "full" | "slow" | "blocked" | "broken" | "no user" | "away";
  constructor(code: StoreError["code"], message: string, cause?: unknown) {
    super(message, { cause });
    this.name = "StoreError";
    this.code = code;
  }
}

/** limited gives up after ms, and once more after the time that more returns then. */
export function limited<T>(
  promise: Promise<T>,
  ms: number,
  code: () => "slow" | "blocked",
  more: () => number = () => 0,
): Promise<T> {
  return new Promise((resolve, reject) => {
    const end = () => reject(new StoreError(code(), "the device's storage does not answer"));
    let timer = setTimeout(() => {
      const rest = more();
      if (rest > 0) timer = setTimeout(end, rest);
      else end();
    }, ms);
    promise.then(resolve, reject).finally(() => clearTimeout(timer));
  });
}
