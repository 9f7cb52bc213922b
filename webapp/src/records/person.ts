import { type RecordState, text } from "../wire/records";
import type { User } from "../wire/api";

/** Who somebody is: the name in full, and what they are in the laboratory. */
export type Identity = { name: string; as: string };

/**
 * identityOf says who is logged in: as the record of the person has it, else as the office said at
 * the log-in, else by the name of the account.
 */
export function identityOf(user: User | undefined, person: RecordState | undefined): Identity {
  return {
    name: text(person, "name") || user?.full || user?.name || "",
    as: text(person, "function") || user?.function || text(person, "role") || user?.role || "",
  };
}
