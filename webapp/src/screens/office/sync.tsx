import { ContestedList, ContestedRecord } from "./contested";
import { DevicesScreen } from "./devices";

/**
 * SyncPart is the office's view of the exchange with devices: their state, and contested values.
 * Its code is fetched when needed.
 */
export function SyncPart({ kind, id }: { kind: "contested" | "devices"; id: string | undefined }) {
  if (kind === "devices") return <DevicesScreen />;
  return id === undefined ? <ContestedList /> : <ContestedRecord key={id} id={id} />;
}
