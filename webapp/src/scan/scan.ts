import { trusted } from "../calc/trusted";
import type { ScanReply, ScanRequest } from "../wire/worker";

declare const SCAN_WORKER: string;

type Detector = { detect(source: CanvasImageSource): Promise<{ rawValue: string }[]> };
declare const BarcodeDetector:
  | { new (options: { formats: string[] }): Detector; getSupportedFormats(): Promise<string[]> }
  | undefined;

/** Frames looked at per second: more warms the phone without reading sooner. */
const framesPerSecond = 10;
const longestSide = 800;

type Reader = { read(source: HTMLVideoElement | ImageBitmap): Promise<string>; end(): void };

async function reader(): Promise<Reader> {
  if (typeof BarcodeDetector !== "undefined" && (await BarcodeDetector.getSupportedFormats()).includes("qr_code")) {
    const native = new BarcodeDetector({ formats: ["qr_code"] });
    return { read: async (source) => (await native.detect(source))[0]?.rawValue ?? "", end: () => undefined };
  }
  const worker = new Worker(trusted(SCAN_WORKER));
  const canvas = document.createElement("canvas");
  const context = canvas.getContext("2d", { willReadFrequently: true });
  let next = 1;
  return {
    read: (source) =>
      new Promise((resolve, reject) => {
        const w = source instanceof ImageBitmap ? source.width : source.videoWidth;
        const h = source instanceof ImageBitmap ? source.height : source.videoHeight;
        if (!context || w === 0 || h === 0) {
          resolve("");
          return;
        }
        const scale = Math.min(1, longestSide / Math.max(w, h));
        canvas.width = Math.round(w * scale);
        canvas.height = Math.round(h * scale);
        context.drawImage(source, 0, 0, canvas.width, canvas.height);
        const pixels = context.getImageData(0, 0, canvas.width, canvas.height).data.buffer;
        const id = next++;
        const listen = (e: MessageEvent<ScanReply>) => {
          if (e.data.id !== id) return;
          worker.removeEventListener("message", listen);
          resolve(e.data.text);
        };
        worker.addEventListener("message", listen);
        worker.addEventListener("error", () => reject(new Error("the scanner broke")), { once: true });
        const request: ScanRequest = { id, width: canvas.width, height: canvas.height, pixels };
        worker.postMessage(request, [pixels]);
      }),
    end: () => worker.terminate(),
  };
}

export type Camera = { stop: () => void; light: ((on: boolean) => Promise<void>) | undefined };

/**
 * watch shows the camera in a video element and calls found with each code that it reads, until
 * stopped.
 *
 * Refuses: the browser's error if the camera is denied or absent.
 */
export async function watch(video: HTMLVideoElement, found: (code: string) => void): Promise<Camera> {
  const stream = await navigator.mediaDevices.getUserMedia({
    video: { facingMode: "environment", width: { ideal: 1280 } },
    audio: false,
  });
  video.srcObject = stream;
  await video.play();
  const eye = await reader();
  let going = true;
  const look = async () => {
    while (going) {
      const began = performance.now();
      const code = await eye.read(video).catch(() => "");
      if (!going) return;
      if (code !== "") found(code);
      const rest = 1000 / framesPerSecond - (performance.now() - began);
      await new Promise((r) => setTimeout(r, Math.max(rest, 10)));
    }
  };
  void look();
  const track = stream.getVideoTracks()[0];
  const lamp = track && "torch" in track.getCapabilities();
  return {
    stop: () => {
      going = false;
      eye.end();
      for (const t of stream.getTracks()) t.stop();
      video.srcObject = null;
    },
    light: lamp ? (on) => track.applyConstraints({ advanced: [{ torch: on } as MediaTrackConstraintSet] }) : undefined,
  };
}

/** readPicture looks for a code in a photo; "" when there is none. */
export async function readPicture(file: Blob): Promise<string> {
  const picture = await createImageBitmap(file);
  const eye = await reader();
  try {
    return await eye.read(picture);
  } finally {
    eye.end();
    picture.close();
  }
}
