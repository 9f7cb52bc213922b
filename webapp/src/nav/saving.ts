import { download } from "../parts/download";
import { LinkError, link } from "../link/link";

/** A file that a page can write piece by piece, in browsers that allow it. */
type Writable = { createWritable(): Promise<WritableStream<Uint8Array>> };
type Picking = { showSaveFilePicker?: (o: { suggestedName: string }) => Promise<Writable> };

/**
 * saveLarge fetches a file of any size. It writes the file as it comes if the browser can do that;
 * otherwise the file waits in memory until it is complete. It gives the number of bytes, or
 * undefined if the person chose no file. come hears of each piece.
 */
export async function saveLarge(
  path: string,
  name: string,
  signal: AbortSignal,
  come: (bytes: number) => void,
): Promise<number | undefined> {
  const pick = (globalThis as Picking).showSaveFilePicker;
  let to: Writable | undefined;
  try {
    to = await pick?.({ suggestedName: name });
  } catch (e) {
    if (e instanceof DOMException && e.name === "AbortError") return undefined;
    throw e;
  }
  const response = await link.request(path, { signal });
  if (!response.ok || response.body === null) {
    const body = (await response.json().catch(() => ({}))) as { error?: { code?: string; message?: string } };
    const { code = "", message = String(response.status) } = body.error ?? {};
    throw new LinkError("server", response.status, code, message);
  }
  let bytes = 0;
  const counted = response.body.pipeThrough(
    new TransformStream<Uint8Array, Uint8Array>({
      transform(piece, next) {
        bytes += piece.length;
        come(bytes);
        next.enqueue(piece);
      },
    }),
  );
  if (to) await counted.pipeTo(await to.createWritable(), { signal });
  else download(name, await new Response(counted).blob());
  return bytes;
}
