import { readField } from "../../wire/read";
import { useEffect, useState } from "preact/hooks";
import type { RecordState } from "../../wire/records";
import type { Kind } from "./kind";

const air = () => import("./air").then((m) => m.kind);

/**
 * The kinds of work with parts of their own, each fetched when it is first needed and kept for work
 * offline.
 */
const kinds: { [name: string]: () => Promise<Kind> } = {
  // one line per file of this folder
  altimeter: air,
  airspeed: air,
  "vertical-speed": air,
  "reporting-altitude": air,
  "pitot-static-leak": air,
  leak: () => import("./leak").then((m) => m.kind),
  switch: () => import("./switch").then((m) => m.kind),
  burst: () => import("./burst").then((m) => m.kind),
  programme: () => import("./programme").then((m) => m.kind),
};

const none: Kind = {};

/** kindOf names a visit's kind of work. */
export function kindOf(visit: RecordState): string {
  return readField("visit", visit, "method").definition.kind || "gauge";
}

/** useOwn gives the parts that a visit's kind of work shows itself; none until they are loaded. */
export function useOwn(visit: RecordState): Kind {
  const name = kindOf(visit);
  const [own, set] = useState<Kind>(none);
  useEffect(() => {
    let here = true;
    kinds[name]?.().then(
      (k) => here && set(k),
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
    };
  }, [name]);
  return own;
}
