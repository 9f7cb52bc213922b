/** Raised when the module asked to exit: the instance is then unusable. */
export class Ended extends Error {}

/** The module's limit: its documents end at 32 MiB. */
const mostBytes = 32 << 20;

type Exports = {
  memory: WebAssembly.Memory;
  _initialize(): void;
  reserve(n: number): number;
  call(): number;
  reply(): number;
  tidy(): void;
};

/**
 * The settings of the module's collector: it collects when tidy asks for it and not during a
 * calculation, unless memory runs this high.
 */
const environment = ["GOGC=off", "GOMEMLIMIT=128MiB"];

/**
 * Machine is one running instance of the calculation. After an exception it must be thrown away.
 */
export class Machine {
  private readonly exports: Exports;
  private said = "";

  constructor(module: WebAssembly.Module) {
    const instance = new WebAssembly.Instance(module, { wasi_snapshot_preview1: this.imports() });
    // The module's exports are fixed by its Go source.
    this.exports = instance.exports as unknown as Exports;
    this.exports._initialize();
  }

  /**
   * call sends a name and a JSON document, with or without bytes after it, and gives the JSON
   * reply.
   */
  call(name: string, body: string, bytes?: ArrayBuffer): string {
    const request = new TextEncoder().encode(`${name}\n${body}${bytes ? "\n" : ""}`);
    const length = request.length + (bytes?.byteLength ?? 0);
    if (length > mostBytes) throw new RangeError(`a request of ${length} bytes is too large`);
    const at = this.exports.reserve(length);
    // The view is taken after reserve: growing the memory detaches older ones.
    const view = new Uint8Array(this.exports.memory.buffer, at, length);
    view.set(request);
    if (bytes) view.set(new Uint8Array(bytes), request.length);
    return this.answer();
  }

  /** tidy collects the garbage of earlier calls, at a moment when nobody waits for an answer. */
  tidy(): void {
    this.exports.tidy();
  }

  private answer(): string {
    const length = this.exports.call();
    return new TextDecoder().decode(new Uint8Array(this.exports.memory.buffer, this.exports.reply(), length));
  }

  /** said gives what the module wrote to its error stream, for a fault report. */
  get complaint(): string {
    return this.said.slice(-2000);
  }

  private view(): DataView {
    return new DataView(this.exports.memory.buffer);
  }

  private imports(): { [name: string]: (...args: never[]) => number } {
    const nothing = () => 0;
    const two = (a: number, first: number, b: number, second: number) => {
      this.view().setUint32(a, first, true);
      this.view().setUint32(b, second, true);
      return 0;
    };
    const encoded = new TextEncoder().encode(environment.map((entry) => `${entry}\0`).join(""));
    return {
      sched_yield: nothing,
      args_get: nothing,
      args_sizes_get: (count: number, bytes: number) => two(count, 0, bytes, 0),
      environ_sizes_get: (count: number, bytes: number) => two(count, environment.length, bytes, encoded.length),
      environ_get: (list: number, at: number) => {
        let next = at;
        environment.forEach((entry, i) => {
          this.view().setUint32(list + 4 * i, next, true);
          next += entry.length + 1;
        });
        new Uint8Array(this.exports.memory.buffer, at, encoded.length).set(encoded);
        return 0;
      },
      proc_exit: (code: number) => {
        throw new Ended(`the calculation ended with ${code}: ${this.complaint}`);
      },
      clock_time_get: (_clock: number, _precision: bigint, at: number) => {
        this.view().setBigUint64(at, BigInt(Math.round(performance.now() * 1e6)), true);
        return 0;
      },
      random_get: (at: number, n: number) => {
        crypto.getRandomValues(new Uint8Array(this.exports.memory.buffer, at, n));
        return 0;
      },
      fd_write: (_fd: number, vectors: number, count: number, written: number) => {
        let total = 0;
        for (let i = 0; i < count; i++) {
          const at = this.view().getUint32(vectors + 8 * i, true);
          const n = this.view().getUint32(vectors + 8 * i + 4, true);
          this.said += new TextDecoder().decode(new Uint8Array(this.exports.memory.buffer, at, n));
          total += n;
        }
        this.view().setUint32(written, total, true);
        return 0;
      },
      poll_oneoff: (_in: number, out: number, _count: number, events: number) => {
        // The module only ever asks to wait for a moment: answer at once that it has passed.
        new Uint8Array(this.exports.memory.buffer, out, 32).fill(0);
        this.view().setUint32(events, 1, true);
        return 0;
      },
    };
  }
}
