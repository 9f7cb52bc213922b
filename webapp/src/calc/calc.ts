import type { CalcReply, CalcRequest } from "../wire/worker";
import type { Json } from "../wire/records";
import { trusted } from "./trusted";

/** CalcError is a refusal by the calculation: a stable code, the field it concerns and a text. */
export class CalcError extends Error {
  readonly code: string;
  readonly field: string;
  constructor(code: string, field: string, message: string) {
    super(message);
    this.name = "CalcError";
    this.code = code;
    this.field = field;
  }
}

/** A worker as the bridge sees it, so that tests can give their own. */
export type Port = {
  post(request: CalcRequest): void;
  onReply(fn: (reply: CalcReply) => void): void;
  onBroken(fn: (why: string) => void): void;
  end(): void;
};

type Waiting = { request: CalcRequest; done: (body: string) => void; fail: (why: Error) => void; timer: ReturnType<typeof setTimeout> };

/** Longest time one call may take; the first includes compiling the module on a slow phone. */
const longestCall = 30_000;

/** Bridge sends calls to a worker, one after another, and starts the worker anew when a call is aborted, hangs or breaks it. */
export class Bridge {
  private port: Port | undefined;
  private next = 1;
  private readonly waiting = new Map<number, Waiting>();
  private readonly start: () => Port;
  constructor(start: () => Port) {
    this.start = start;
  }

  /** call takes a name and a document, with bytes besides or without, and gives the reply document. Refuses: CalcError; AbortError when the signal fires. */
  async call(name: string, doc: unknown, signal?: AbortSignal, bytes?: ArrayBuffer): Promise<Json> {
    signal?.throwIfAborted();
    const body = await this.raw(name, JSON.stringify(doc), signal, bytes);
    const reply: Json = JSON.parse(body);
    if (reply !== null && typeof reply === "object" && !Array.isArray(reply)) {
      const e = reply["error"];
      if (e !== null && typeof e === "object" && !Array.isArray(e)) {
        throw new CalcError(String(e["code"] ?? ""), String(e["field"] ?? ""), String(e["message"] ?? ""));
      }
    }
    return reply;
  }

  private raw(name: string, body: string, signal?: AbortSignal, bytes?: ArrayBuffer): Promise<string> {
    return new Promise((resolve, reject) => {
      const id = this.next++;
      const request: CalcRequest = bytes ? { id, name, body, bytes } : { id, name, body };
      const leave = () => {
        const w = this.waiting.get(id);
        if (!w) return;
        clearTimeout(w.timer);
        this.waiting.delete(id);
        signal?.removeEventListener("abort", abort);
      };
      const abort = () => {
        leave();
        reject(signal?.reason instanceof Error ? signal.reason : new DOMException("stopped", "AbortError"));
        this.restart();
      };
      const timer = setTimeout(() => {
        leave();
        reject(new CalcError("slow", "", "the calculation did not answer in time"));
        this.restart();
      }, longestCall);
      this.waiting.set(id, {
        request,
        done: (reply) => {
          leave();
          resolve(reply);
        },
        fail: (why) => {
          leave();
          reject(why);
        },
        timer,
      });
      signal?.addEventListener("abort", abort, { once: true });
      this.worker().post(request);
    });
  }

  private worker(): Port {
    if (this.port) return this.port;
    const port = this.start();
    this.port = port;
    port.onReply((reply) => {
      const w = this.waiting.get(reply.id);
      if (!w) return;
      if ("body" in reply) w.done(reply.body);
      else w.fail(new CalcError("broken", "", reply.broken));
    });
    port.onBroken((why) => {
      if (this.port !== port) return;
      port.end();
      this.port = undefined;
      for (const w of [...this.waiting.values()]) w.fail(new CalcError("broken", "", why));
    });
    return port;
  }

  /** restart ends the worker and sends what still waits to a new one. */
  private restart(): void {
    this.port?.end();
    this.port = undefined;
    if (this.waiting.size === 0) return;
    const port = this.worker();
    for (const w of this.waiting.values()) port.post(w.request);
  }
}

declare const CALC_WORKER: string;

function pageWorker(): Port {
  const worker = new Worker(trusted(CALC_WORKER));
  return {
    post: (request) => worker.postMessage(request),
    onReply: (fn) => worker.addEventListener("message", (e: MessageEvent<CalcReply>) => fn(e.data)),
    onBroken: (fn) => worker.addEventListener("error", (e) => fn(e.message)),
    end: () => worker.terminate(),
  };
}

const bridge = new Bridge(pageWorker);

/**
 * call runs a room of the calculation (`evaluate`, `expand`, `head`, … or a full name as `sync/merge`) in the worker.
 *
 * Takes: the document of the calculation contract. Gives: the reply document. Refuses: CalcError with the code and field of the refusal.
 */
export function call(room: string, doc: unknown, signal?: AbortSignal): Promise<Json> {
  return bridge.call(room.includes("/") ? room : `calc/${room}`, doc, signal);
}

/** callBytes runs a room that takes bytes beside its document; the bytes are copied, not taken away. */
export function callBytes(room: string, doc: unknown, bytes: ArrayBuffer, signal?: AbortSignal): Promise<Json> {
  return bridge.call(`bytes/${room}`, doc, signal, bytes);
}
