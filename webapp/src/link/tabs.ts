/** locks says whether the browser can keep two tabs from talking to the office at the same time. */
export function locks(): boolean {
  return typeof navigator !== "undefined" && navigator.locks !== undefined;
}

/**
 * one runs the work in one tab at a time. Gives: false if another tab runs it, which then does this
 * one's work too.
 */
export async function one(work: () => Promise<void>): Promise<boolean> {
  if (!locks()) {
    await work();
    return true;
  }
  return await navigator.locks.request("gaugewright-link", { ifAvailable: true }, async (lock) => {
    if (lock === null) return false;
    await work();
    return true;
  });
}

/** waited runs the work once no tab talks to the office. */
export async function waited(work: () => Promise<void>): Promise<void> {
  if (locks()) await navigator.locks.request("gaugewright-link", work);
  else await work();
}

/** Channel carries messages from one tab to the others. */
export class Channel<T> {
  private readonly channel: BroadcastChannel | undefined;

  constructor(name: string, heard: (news: T) => void) {
    if (typeof BroadcastChannel === "undefined") return;
    this.channel = new BroadcastChannel(name);
    this.channel.onmessage = (e: MessageEvent<T>) => heard(e.data);
    // Node would wait for the channel for ever; browsers have no such method.
    (this.channel as { unref?: () => void }).unref?.();
  }

  tell(news: T): void {
    this.channel?.postMessage(news);
  }
}
