import type { ComponentType } from "preact";
import type { ManifoldOutput } from "../../wire/calculations.gen";
import type { RecordState } from "../../wire/records";

/** A visit of a manifold with its runs. */
export type Member = { visit: RecordState; runs: RecordState[] };

/** What a manifold asks for at one of its visits. */
export type OnManifold = {
  phase: ManifoldOutput["visits"][number]["phase"];
  /** Its place among the tags, from 1. */
  place: number;
  /** The gauges that are still in the set. */
  tags: string[];
  /** The next step is done once for all. */
  common: boolean;
  /** Those that it is done for, or that begin together. */
  shared: Member[];
  /** Those whose runs are open. */
  running: Member[];
  /** Another visit that has its standard and its surroundings. */
  first: RecordState | undefined;
  /** The permit's number that another one of them was given, "" for none; undefined before any was asked. */
  permit: string | undefined;
  /** The visit that comes next, where it is another one. */
  next: { id: string; tag: string } | undefined;
  /** The components for its own parts of the screens, which come with it. */
  own: Parts;
};

type Of = { on: OnManifold };

export type Parts = {
  BeginAll: ComponentType<Of>;
  Same: ComponentType<{ visit: RecordState; first: RecordState }>;
  Leave: ComponentType<Of & { visit: RecordState; run: RecordState; all: boolean; onBack: () => void }>;
  Ways: ComponentType<{ onLeave: (way: "leave" | "stop") => void }>;
  Gauge: ComponentType<Of>;
  Before: ComponentType<Of>;
  NextGauge: ComponentType<Of>;
};
