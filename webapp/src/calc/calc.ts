import type { Calculations } from "../wire/calculations.gen";
import type { CalcReply, CalcRequest } from "../wire/worker";
import type { Json } from "../wire/records";
import { trusted } from "./trusted";

let inLanguage = (message: string) => message;

/** tellIn sets the translation of refusals; the calculations refuse in English. */
export const tellIn = (said: (message: string) => string): void => {
  inLanguage = said;
};

/** CalcError is a refusal by the calculation: a stable code, the field it concerns and a text. */
export class CalcError extends Error {
  readonly code: string;
  readonly field: string;
  constructor(code: string, field: string, message: string) {
    super(inLanguage(message));
    this.name = "CalcError";
    this.code = code;
    this.field = field;
  }
}

/** Port is a worker as the bridge sees it, so that tests can give their own. */
export type Port = {
  post(request: CalcRequest): void;
  onReply(fn: (reply: CalcReply) => void): void;
  onBroken(fn: (why: string) => void): void;
  end(): void;
};

type Waiting = {
  request: CalcRequest;
  done: (reply: string | ArrayBuffer) => void;
  fail: (why: Error) => void;
  timer: ReturnType<typeof setTimeout>;
};

/**
 * The longest time that one call may take; the first call includes compiling the module on a slow
 * phone.
 */
const longestCall = 30_000;

/**
 * Bridge sends calls to a worker, one after another. It restarts the worker if a call is aborted,
 * hangs or breaks it.
 */
export class Bridge {
  private port: Port | undefined;
  private next = 1;
  private readonly waiting = new Map<number, Waiting>();
  private readonly start: () => Port;
  constructor(start: () => Port) {
    this.start = start;
  }

  /**
   * call takes a name and a document, with or without bytes, and gives the reply document. Refuses:
   * CalcError; AbortError when the signal fires.
   */
  async call(name: string, doc: unknown, signal?: AbortSignal, bytes?: ArrayBuffer): Promise<Json> {
    signal?.throwIfAborted();
    const body = await this.raw(name, JSON.stringify(doc), signal, bytes);
    const reply: Json = JSON.parse(String(body));
    if (reply !== null && typeof reply === "object" && !Array.isArray(reply)) {
      const e = reply["error"];
      if (e !== null && typeof e === "object" && !Array.isArray(e)) {
        throw new CalcError(String(e["code"] ?? ""), String(e["field"] ?? ""), String(e["message"] ?? ""));
      }
    }
    return reply;
  }

  /** press gives a text compressed with gzip. */
  async press(text: string): Promise<ArrayBuffer> {
    const pressed = await this.raw("press", text);
    if (typeof pressed === "string") throw new CalcError("shape", "", "the text came back as it was");
    return pressed;
  }

  private raw(name: string, body: string, signal?: AbortSignal, bytes?: ArrayBuffer): Promise<string | ArrayBuffer> {
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
      else if ("pressed" in reply) w.done(reply.pressed);
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

  /** restart ends the worker and sends the waiting calls to a new one. */
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

/** A document put together from records. The calculation itself refuses what does not fit. */
type Loose = { [name: string]: Json };

export type Name = keyof Calculations;
/** The input of a calculation: as its schema has it, or a document put together from records. */
export type Asked<N extends Name> = Calculations[N]["input"] | Loose;
/** The output of a calculation, as its schema has it; Go's tests check every reply against that. */
export type Reply<N extends Name> = Calculations[N]["output"];

/**
 * read gives the reply of a calculation its type. This is the only place where the module's output
 * is typed.
 */
function read<N extends Name>(name: N, reply: Json): Reply<N> {
  if (reply === null || typeof reply !== "object" || Array.isArray(reply) || typeof reply["calc"] !== "string")
    throw new CalcError("shape", "", `the calculation ${name} gave no document`);
  return reply as unknown as Reply<N>;
}

/**
 * call runs a calculation (`evaluate`, `expand`, `head`, …) in the worker.
 *
 * Takes: the document of the calculation contract. Gives: the reply document. Refuses: CalcError
 * with the code and field of the refusal.
 */
export async function call<N extends Name>(name: N, doc: Asked<N>, signal?: AbortSignal): Promise<Reply<N>> {
  return read(name, await bridge.call(`calc/${name}`, doc, signal));
}

/** callSync runs a part of the merge (`sync/merge`, `sync/draft`, …) in the worker. */
export function callSync(name: string, doc: unknown): Promise<Json> {
  return bridge.call(name, doc);
}

/**
 * press gives a text compressed with gzip in the worker, so that the page does not freeze
 * meanwhile.
 */
export function press(text: string): Promise<ArrayBuffer> {
  return bridge.press(text);
}

/**
 * callBytes runs a calculation that takes bytes beside its document. The bytes are copied, not
 * transferred.
 */
export async function callBytes(
  name: "trace",
  doc: Asked<"trace">,
  bytes: ArrayBuffer,
  signal?: AbortSignal,
): Promise<Reply<"trace">> {
  return read(name, await bridge.call(`bytes/${name}`, doc, signal, bytes));
}
