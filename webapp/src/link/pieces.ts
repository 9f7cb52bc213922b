import * as store from "../store/store";
import { LinkError } from "./reply";

/** The most of a photo that is sent at once: this much is lost if a weak line breaks. */
export const photoPiece = 256 * 1024;

type Send = (init: { method: string; body?: Blob; headers?: { [name: string]: string } }) => Promise<Response>;

/** arrived reads how much of a blob the office has, from its answer. */
function arrived(answer: Response): number {
  const n = Number(answer.headers.get("blob-arrived") ?? "0");
  return Number.isSafeInteger(n) && n > 0 ? n : 0;
}

/**
 * bring sends a blob that the office lacks, in pieces if it is long, from where an earlier attempt
 * broke off.
 *
 * Takes: the office's answer to HEAD, the blob, how to send. Gives: the answer that ended it; it
 * is good if the office has the blob.
 */
export async function bring(head: Response, blob: Blob, send: Send): Promise<Response> {
  const type = { "content-type": blob.type || "application/octet-stream" };
  let from = arrived(head);
  if (from >= blob.size) from = 0;
  if (from === 0 && blob.size <= photoPiece) return send({ method: "PUT", body: blob, headers: type });
  for (let again = 0; ; ) {
    const to = Math.min(from + photoPiece, blob.size);
    const headers = { ...type, "content-range": `bytes ${from}-${to - 1}/${blob.size}` };
    const answer = await send({ method: "PUT", body: blob.slice(from, to), headers });
    if (answer.status !== 202 && answer.status !== 409) return answer;
    const now = arrived(answer);
    if (now <= from && ++again > 2) return answer; // no progress
    from = now < blob.size ? now : 0;
  }
}

/**
 * bringAll sends the photos that the office lacks. One that it refuses does not hold up the others.
 */
export async function bringAll(
  waiting: string[],
  request: (path: string, init?: RequestInit) => Promise<Response>,
): Promise<void> {
  let refused = 0;
  for (const sha256 of waiting) {
    const path = `/api/blobs/${sha256}`;
    const there = await request(path, { method: "HEAD" });
    if (!there.ok) {
      if (there.status !== 404) throw new LinkError("server", there.status);
      const body = await store.blob(sha256);
      if (!body) continue;
      const put = await bring(there, body, (init) => request(path, init));
      if (!put.ok) {
        refused = put.status;
        continue;
      }
    }
    await store.photoSent(sha256);
  }
  if (refused !== 0) throw new LinkError("server", refused);
}
