/**
 * What the page asks of the calculation worker; name is `calc/ROOM`, `sync/VERB` or, with bytes
 * besides, `bytes/ROOM`; body its JSON document.
 */
export type CalcRequest = { id: number; name: string; body: string; bytes?: ArrayBuffer };
/** What it answers: the reply document, or what broke. */
export type CalcReply = { id: number; body: string } | { id: number; broken: string };
/** A camera frame for the scan worker, and what was read in it ("" for nothing). */
export type ScanRequest = { id: number; width: number; height: number; pixels: ArrayBuffer };
export type ScanReply = { id: number; text: string };
