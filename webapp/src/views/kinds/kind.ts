import type { ComponentType } from "preact";
import type { Json, RecordState } from "../../wire/records";
import type { Step } from "../../records/run";

export type Finding = { [name: string]: Json };

/**
 * What a kind shows while one of its read steps is worked on; the finding is that of everything
 * recorded so far and of what is being typed.
 */
export type Live = ComponentType<{ visit: RecordState; run: RecordState; step: Step; finding: Finding }>;

/** What a kind of work shows of its own; what it leaves out, the visit shows in its general way. */
export type Kind = {
  /** The drawing of a closed run, above the table of its results. */
  Result?: ComponentType<{ visit: RecordState; run: RecordState; finding: Finding }>;
  Live?: Live;
  /**
   * One more control on every screen of a run, such as a card for the worst case; brief where it is
   * beside a pad.
   */
  Aside?: ComponentType<{ visit: RecordState; run: RecordState; steps: Step[]; at: number; brief: boolean }>;
};
