type Turn<T> = { work: () => Promise<T>; done: (v: T) => void; fail: (e: unknown) => void };

/**
 * Latest runs one request at a time. Of those that come meanwhile it runs only the newest, and it
 * drops an answer that is out of date.
 */
export class Latest<T> {
  private running = false;
  private next: Turn<T> | undefined;

  /** ask runs the work now, or after the running one if no newer one comes. */
  ask(work: Turn<T>["work"], done: Turn<T>["done"], fail: Turn<T>["fail"]): void {
    this.next = { work, done, fail };
    if (!this.running) void this.go();
  }

  private async go(): Promise<void> {
    this.running = true;
    for (let turn = this.next; turn; turn = this.next) {
      this.next = undefined;
      try {
        const v = await turn.work();
        if (this.next === undefined) turn.done(v);
      } catch (e) {
        if (this.next === undefined) turn.fail(e);
      }
    }
    this.running = false;
  }
}
