import jsQR from "jsqr";
import type { ScanReply, ScanRequest } from "../wire/worker";

declare const self: DedicatedWorkerGlobalScope;

self.addEventListener("message", (e: MessageEvent<ScanRequest>) => {
  const { id, width, height, pixels } = e.data;
  const found = jsQR(new Uint8ClampedArray(pixels), width, height, { inversionAttempts: "attemptBoth" });
  const reply: ScanReply = { id, text: found?.data ?? "" };
  self.postMessage(reply);
});
