/** Most of a photo that is sent at once: what a weak line loses when it breaks. */
export const photoPiece = 256 * 1024;

type Send = (init: { method: string; body?: Blob; headers?: { [name: string]: string } }) => Promise<Response>;

/** arrived reads how much of a blob an office says that it has. */
function arrived(answer: Response): number {
  const n = Number(answer.headers.get("blob-arrived") ?? "0");
  return Number.isSafeInteger(n) && n > 0 ? n : 0;
}

/**
 * bring sends a blob that the office lacks, in pieces where it is long, from where an earlier
 * sending broke off.
 *
 * Takes: the office's answer to HEAD, the blob, how to send. Gives: the answer that ended it: good
 * where the office has the blob.
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
    if (now <= from && ++again > 2) return answer; // it does not get on
    from = now < blob.size ? now : 0;
  }
}
