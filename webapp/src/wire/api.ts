import type { Change } from "./records";

export type Role = "technician" | "reviewer" | "administrator";
/** name is for the log-in; full and function stand on certificates, "" where nobody has set them. */
export type User = { id: string; name: string; role: Role; sites: string[]; full?: string; function?: string };
export type LoginReply = { access: string; expires: string | number; user: User };
/** Place is how far a device is in the office's journal; it means nothing in another store, epoch or journal. */
export type Place = { store: string; epoch: string; root: string; cursor: number; scope?: string };
/** What a device says of itself, for the office to look at. */
export type About = { wall: string; version: string; waiting: number; photos: number; oldest: string; was: string };
export type SyncRequest = Place & {
  protocol?: number;
  nonce: string;
  device: string;
  changes: Change[];
  limit: number;
  kinds?: string[];
  /** Where there is nothing new, the answer need not say again what the request says. */
  brief?: boolean;
  last?: string;
  about?: About;
  /** Names the list of refusals that this device knows, "" for none. */
  refused?: string;
  /** Ids of changes of which it asks whether the office has them. */
  has?: string[];
};
export type SyncReply = {
  store: string;
  epoch?: string;
  root?: string;
  /** The office does not know this device's place: it wants all the device's own changes again. */
  again?: boolean;
  /** To a brief request: nothing is new, and the device is where it said. */
  same?: boolean;
  /** Another device goes by this one's id. */
  twin?: boolean;
  /** Names which records this user is given; "" and absent for all. */
  scope?: string;
  /** The sites of a scope that is another one than the device named. */
  sites?: string[];
  nonce: string;
  cursor: number;
  more: boolean;
  acknowledged: string[];
  quarantined: { id: string; reason: string }[];
  /**
   * Where it is another list than the device knows: all that the office does not take of this
   * person's work, also what it acknowledged once.
   */
  refused?: string;
  refusals?: { id: string; reason: string }[];
  /** What the office speaks; absent is 1. */
  protocol?: number;
  /** Changes in a form that the office's program cannot read yet: it kept nothing of them. */
  newer?: string[];
  /** Of the changes that were asked for, those that the office has. */
  had?: string[];
  changes: Change[];
  /** The office's signature over these changes. */
  given?: string;
  /** The text of the changes as it came; not of the exchange. */
  text?: string;
  time: string;
};
