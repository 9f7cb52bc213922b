import type { Change } from "./records";

export type Role = "technician" | "reviewer" | "administrator";
export type User = { id: string; name: string; role: Role; sites: string[] };
export type LoginReply = { access: string; expires: string | number; user: User };
export type SyncRequest = { store: string; cursor: string; nonce: string; device: string; changes: Change[]; limit: number };
export type SyncReply = {
  store: string;
  nonce: string;
  cursor: string;
  more: boolean;
  acknowledged: string[];
  quarantined: { id: string; reason: string }[];
  changes: Change[];
  time: string;
};
