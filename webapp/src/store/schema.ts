import type { DBSchema, IDBPTransaction } from "idb";
import type { Place, User } from "../wire/api";
import type { Change, RecordState } from "../wire/records";
import type { Entry } from "./shelf";

/** seq counts the changes written here; a device that takes another id goes on counting. */
export type Device = { id: string; seq: number; count: number };
/**
 * quarantined: why the office does not take it; listed: it is on the office's own list of those.
 */
export type OwnChange = { id: string; seq: number; change: Change; quarantined?: string; listed?: 1 };
/** author is whose it is; again: the office had it once, and may have it still. */
export type Waiting = { seq: number; id: string; at: number; author: string; again?: 1 };
export type Photo = { sha256: string; type: string; bytes: ArrayBuffer; at: number; sent: number };
/**
 * Given is what an office gave in one reply, as it came: the text of its changes, in gzip where
 * that is shorter, and its signature over them. An office that lost them takes them back by it.
 */
export type Given = { n: number; store: string; sign: string; text: ArrayBuffer | string };
/** keys: those of keysOf, kept beside the record for their index. */
/** rebuild names the last rebuilding that the record has been through. */
export type Row = {
  id: string;
  kind: string;
  parent: string;
  site: string;
  keys: string[];
  rev: number;
  state: RecordState;
  rebuild?: string;
};
export type Meta = {
  device?: Device;
  user?: User;
  /**
   * The last access token: an account that was ended meanwhile can still hand over what it had, and
   * the office puts it aside.
   */
  access?: string;
  link?: Place;
  /**
   * While everything is offered again: the number of the last own change and the name of the last
   * photo that are back in the queue.
   */
  offer?: { seq: number; photo: string };
  lastSync?: string;
  /** The office's records have come to their end once; until then something may be missing here. */
  whole?: boolean;
  birth?: string;
  /**
   * The nonce of the last reply that was taken; by it the office distinguishes two devices with one id
   * apart.
   */
  heard?: string;
  /** The user's sites, until the records of others are gone. */
  sites?: string[];
  /** The office takes requests in gzip. */
  presses?: boolean;
  /** When this device took another id because a copy of it was met. */
  forked?: string;
  /** The id that it went by before. */
  was?: string;
  /** A log-out that the office has not heard of: nothing is asked of it before. */
  leaving?: boolean;
  /**
   * While the records are rebuilt from what a restored office has and what was written here: names
   * this rebuilding.
   */
  rebuild?: string;
  /**
   * While what an office gave is brought back to it: the number of the last that it has answered
   * for, and of the last that is brought.
   */
  back?: { store: string; at: number; to: number };
  /** How many bytes of what was given are kept. */
  given?: number;
  /** The names of those who logged in here, by id. */
  names?: { [id: string]: string };
  /** Names the office's list of what it does not take of this person's work. */
  refused?: string;
};

export interface Schema extends DBSchema {
  changes: { key: string; value: OwnChange; indexes: { seq: number; quarantined: string; record: string } };
  outbox: { key: number; value: Waiting; indexes: { author: [string, number]; again: number } };
  records: { key: string; value: Row; indexes: { kind: string; parent: string; keys: string } };
  register: { key: [string, string]; value: Entry };
  photos: { key: string; value: Photo; indexes: { sent: number } };
  meta: { key: string; value: Meta[keyof Meta] };
  given: { key: number; value: Given };
}

export type StoreName = "changes" | "outbox" | "records" | "register" | "photos" | "meta" | "given";

export type Writing = IDBPTransaction<Schema, StoreName[], "readwrite">;
