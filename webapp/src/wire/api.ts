import type { Change } from "./records";

export type Role = "technician" | "reviewer" | "administrator";
export type User = { id: string; name: string; role: Role; sites: string[] };
export type LoginReply = { access: string; expires: string | number; user: User };
/** Place is where a device stands in the office's journal; it means nothing in another store, epoch or journal. */
export type Place = { store: string; epoch: string; root: string; cursor: number };
export type SyncRequest = Place & { nonce: string; device: string; changes: Change[]; limit: number; kinds?: string[] };
export type SyncReply = {
  store: string;
  epoch?: string;
  root?: string;
  /** The office does not know this device's place: it wants all the device's own changes again. */
  again?: boolean;
  nonce: string;
  cursor: number;
  more: boolean;
  acknowledged: string[];
  quarantined: { id: string; reason: string }[];
  changes: Change[];
  time: string;
};
