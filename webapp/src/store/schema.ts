import type { DBSchema, IDBPTransaction } from "idb";
import type { Place, User } from "../wire/api";
import type { Change, RecordState } from "../wire/records";
import type { Entry } from "./shelf";

/** seq counts the changes written here. A device that takes another id goes on counting. */
export type Device = { id: string; seq: number; count: number };
/**
 * quarantined: why the office refuses it; listed: it is on the office's own list of refused
 * changes.
 */
export type OwnChange = { id: string; seq: number; change: Change; quarantined?: string; listed?: 1 };
/** author is its author; again: the office had it once, and may still have it. */
export type Waiting = { seq: number; id: string; at: number; author: string; again?: 1 };
export type Photo = { sha256: string; type: string; bytes: ArrayBuffer; at: number; sent: number };
/**
 * Given is what an office sent in one reply, as it came: the text of its changes, in gzip if that
 * is shorter, and its signature over them. An office that lost them takes them back because of it.
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
/**
 * Held is a unit that this device holds in full: when it was last opened, how long its text is, the
 * day until which somebody takes it along, and the office's signature over what came, with the
 * place in the journal that it names.
 */
export type Held = {
  id: string;
  used: number;
  bytes: number;
  along?: string;
  place: Place;
  given: string;
};
/**
 * Hold is set on a device that holds a part of the plant. name is the name of its list of units, ""
 * until all came once. wanted are the units that the office planned, all of them on that day. begun
 * is the place at which it began, next how far the register has come.
 */
export type Hold = { name: string; begun?: Place; next?: number; wanted?: string[]; day?: string };
export type Meta = {
  device?: Device;
  user?: User;
  /**
   * The last access token: a person whose account has ended meanwhile can still hand over their
   * work, which the office quarantines.
   */
  access?: string;
  link?: Place;
  /**
   * While everything is offered again: the number of the last own change and the name of the last
   * photo that are back in the queue.
   */
  offer?: { seq: number; photo: string };
  lastSync?: string;
  /** The office's records have come to their end once. Until then something may be missing here. */
  whole?: boolean;
  birth?: string;
  /**
   * The nonce of the last reply that was taken. It lets the office tell apart two devices with one
   * id.
   */
  heard?: string;
  heardBeside?: string;
  /** The user's sites, until the records of other sites are gone. */
  sites?: string[];
  /** The office takes requests in gzip. */
  presses?: boolean;
  /** When this device took another id because it met a copy of itself. */
  forked?: string;
  /** Its earlier id. */
  was?: string;
  /** Nobody is logged in, and nothing is left but unsent work. */
  cleared?: boolean;
  /** A log-out has removed the sent changes that this device wrote, up to this count of its clock. */
  gone?: number;
  /** A log-out that the office has not heard of. It goes out before any other request. */
  leaving?: boolean;
  /**
   * While the records are rebuilt from what a restored office has and what was written here: the
   * name of this rebuilding.
   */
  rebuild?: string;
  /**
   * While an office's replies are brought back to it: the number of the last one that it has
   * answered for, and of the last one to bring.
   */
  back?: { store: string; at: number; to: number };
  hold?: Hold;
  /** How many bytes of replies are kept. */
  given?: number;
  /** The names of those who logged in here, by id. */
  names?: { [id: string]: string };
  /** The name of the office's list of this person's refused changes. */
  refused?: string;
};

export interface Schema extends DBSchema {
  changes: { key: string; value: OwnChange; indexes: { seq: number; quarantined: string; record: string } };
  outbox: { key: number; value: Waiting; indexes: { author: [string, number]; again: number } };
  records: { key: string; value: Row; indexes: { kind: string; parent: string; keys: string } };
  register: { key: [string, string]; value: Entry; indexes: { id: string; label: string } };
  held: { key: string; value: Held };
  photos: { key: string; value: Photo; indexes: { sent: number } };
  meta: { key: string; value: Meta[keyof Meta] };
  given: { key: number; value: Given };
}

export type StoreName = "changes" | "outbox" | "records" | "register" | "photos" | "meta" | "given" | "held";

export type Writing = IDBPTransaction<Schema, StoreName[], "readwrite">;
