import type { Change } from "./records";

export type Role = "technician" | "reviewer" | "administrator";
export type User = { id: string; name: string; role: Role; sites: string[] };
export type LoginReply = { access: string; expires: string | number; user: User };
export type SyncRequest = { store: string; cursor: number; nonce: string; device: string; changes: Change[]; limit: number };
export type SyncReply = {
  store: string;
  nonce: string;
  cursor: number;
  more: boolean;
  acknowledged: string[];
  quarantined: { id: string; reason: string }[];
  changes: Change[];
  time: string;
};
