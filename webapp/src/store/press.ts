import { press as inWorker } from "../calc/calc";

/** Below this length compressing a text costs more than it saves. */
const worthPressing = 1024;

const onPage = (text: string): Promise<ArrayBuffer> =>
  new Response(new Blob([text]).stream().pipeThrough(new CompressionStream("gzip"))).arrayBuffer();

/**
 * press gives a text in gzip, compressed in a worker if there is one for it; undefined if it is
 * short or the browser cannot.
 */
export async function press(text: string): Promise<ArrayBuffer | undefined> {
  if (text.length < worthPressing || typeof CompressionStream === "undefined") return undefined;
  return typeof Worker === "undefined" ? onPage(text) : inWorker(text).catch(() => onPage(text));
}
