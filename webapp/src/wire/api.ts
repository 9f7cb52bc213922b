import type { Change, Json, RecordState } from "./records";

export type Role = "technician" | "reviewer" | "administrator";
/** name is for the log-in; full and function appear on certificates, "" if nobody has set them. */
export type User = { id: string; name: string; role: Role; sites: string[]; full?: string; function?: string };
export type LoginReply = { access: string; expires: string | number; user: User };
/**
 * Place is how far a device is in the office's journal. It means nothing in another store, epoch or
 * journal.
 */
export type Place = { store: string; epoch: string; root: string; cursor: number; scope?: string };
/** A device's report on itself, for the office to look at. */
export type About = { wall: string; version: string; waiting: number; photos: number; oldest: string; was: string };
export type SyncRequest = Place & {
  protocol?: number;
  nonce: string;
  device: string;
  changes: Change[];
  limit: number;
  kinds?: string[];
  /** If there is nothing new, the answer need not repeat what the request says. */
  brief?: boolean;
  last?: string;
  /**
   * The request is sent before the reply to another request, named in after, which must be taken
   * first.
   */
  lane?: 1;
  after?: string;
  about?: About;
  /** Names the list of refusals that this device knows, "" for none. */
  refused?: string;
  /** Ids of changes; asks whether the office has them. */
  has?: string[];
  /** What this device holds: "" for everything or nothing yet; the list if the office lacks it. */
  hold?: { name: string; units?: string[] };
};
/** What a search shows of an instrument that a device does not hold. */
export type Shown = { id: string; site: string; set: { [field: string]: Json } };
/**
 * The answer to a device that holds a part of the plant; sync/link/part.go explains each member.
 */
export type Part = { begin?: boolean; send?: boolean; wanted?: string[]; entries?: Shown[] };
/** A unit (an instrument or a standard with all below it), and the office's signature over it. */
export type Group = { unit: string; given: string; states: RecordState[] };
/** The office's units to hold, with the place in its journal from before it was read. */
export type HoldReply = Required<Place> & {
  sites?: string[];
  count: string;
  wanted?: string[];
  groups?: Group[];
  /** These are only the person's rounds, and the rest of the base is still to come. */
  more?: boolean;
  left?: string[];
  entries?: Shown[];
  next?: number;
  all?: number;
};
export type SyncReply = {
  store: string;
  epoch?: string;
  root?: string;
  /** The office does not know this device's place: it wants all the device's own changes again. */
  again?: boolean;
  /** The reply to a brief request: nothing is new, and the device is where it said. */
  same?: boolean;
  /** Another device uses this device's id. */
  twin?: boolean;
  /** This person's account has ended. */
  ended?: boolean;
  /** Names the records that this user gets; "" and absent for all. */
  scope?: string;
  /** The sites of the scope, if the device named another scope. */
  sites?: string[];
  nonce: string;
  cursor: number;
  more: boolean;
  acknowledged: string[];
  quarantined: { id: string; reason: string }[];
  /**
   * If the list differs from the one that the device knows: everything of this person's work that
   * the office refuses, also what it once acknowledged.
   */
  refused?: string;
  refusals?: { id: string; reason: string }[];
  /** The office's protocol; absent means 1. */
  protocol?: number;
  /** Changes in a form that the office's program cannot read yet; it kept nothing of them. */
  newer?: string[];
  /** Of the changes that the request asked for, those that the office has. */
  had?: string[];
  changes: Change[];
  /** The office's signature over these changes. */
  given?: string;
  /** The text of the changes as it came; not sent in the exchange. */
  text?: string;
  part?: Part;
  /** The name of what this device held when it asked; not sent in the exchange. */
  held?: string;
  time: string;
};
