import { ContestedList, ContestedRecord } from "./contested";
import { DevicesScreen } from "./devices";

/**
 * SyncPart is what the office sees of the exchange with devices: their state, and what
 * they wrote apart. Its code comes when it is needed.
 */
export function SyncPart({ kind, id }: { kind: "contested" | "devices"; id: string | undefined }) {
  if (kind === "devices") return <DevicesScreen />;
  return id === undefined ? <ContestedList /> : <ContestedRecord key={id} id={id} />;
}
