import type { CalcReply, CalcRequest } from "../wire/worker";
import { Machine } from "./wasi";

declare const CALC_WASM: string;
declare const self: DedicatedWorkerGlobalScope;

let compiling: Promise<WebAssembly.Module> | undefined;
let machine: Machine | undefined;
let line: Promise<void> = Promise.resolve();

async function compile(): Promise<WebAssembly.Module> {
  const response = await fetch(CALC_WASM);
  if (!response.ok) throw new Error(`calc.wasm: ${response.status}`);
  return WebAssembly.compile(await response.arrayBuffer());
}

async function press(text: string): Promise<ArrayBuffer> {
  return new Response(new Blob([text]).stream().pipeThrough(new CompressionStream("gzip"))).arrayBuffer();
}

async function answer(request: CalcRequest): Promise<CalcReply> {
  try {
    if (request.name === "press") return { id: request.id, pressed: await press(request.body) };
    compiling ??= compile();
    const module = await compiling;
    machine ??= new Machine(module);
    return { id: request.id, body: machine.call(request.name, request.body, request.bytes) };
  } catch (e) {
    if (machine === undefined) compiling = undefined; // not loaded: fetch it again next time
    machine = undefined;
    return { id: request.id, broken: e instanceof Error ? e.message : String(e) };
  }
}

let waiting = 0;

/** Runs between two answers, so that nobody waits for it. */
function tidy() {
  if (waiting > 0) return;
  try {
    machine?.tidy();
  } catch {
    machine = undefined;
  }
}

self.addEventListener("message", (e: MessageEvent<CalcRequest>) => {
  waiting++;
  line = line.then(async () => {
    self.postMessage(await answer(e.data));
    if (--waiting === 0) setTimeout(tidy);
  });
});
