import { type RecordState, text } from "../wire/records";
import type { User } from "../wire/api";

/** A person's full name and function in the laboratory. */
export type Identity = { name: string; as: string };

/**
 * identityOf says who is logged in: from the person's record, else from the office's answer at
 * log-in, else by the account's name.
 */
export function identityOf(user: User | undefined, person: RecordState | undefined): Identity {
  return {
    name: text(person, "name") || user?.full || user?.name || "",
    as: text(person, "function") || user?.function || text(person, "role") || user?.role || "",
  };
}
