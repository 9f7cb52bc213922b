/**
 * A request of the page to the calculation worker. name is `calc/NAME`, `sync/VERB` or, with bytes,
 * `bytes/NAME`; body is its JSON document. `press` compresses its body, whatever that is.
 */
export type CalcRequest = { id: number; name: string; body: string; bytes?: ArrayBuffer };
/** The worker's answer: the reply document, for `press` the body in gzip, or the error. */
export type CalcReply =
  | { id: number; body: string }
  | { id: number; pressed: ArrayBuffer }
  | { id: number; broken: string };
/** A camera frame for the scan worker, and the text read from it ("" for none). */
export type ScanRequest = { id: number; width: number; height: number; pixels: ArrayBuffer };
export type ScanReply = { id: number; text: string };
