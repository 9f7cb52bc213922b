import type { ComponentType } from "preact";
import type { Json, RecordState } from "../../wire/records";
import type { Step } from "../../records/run";

export type Finding = { [name: string]: Json };

/**
 * What a kind shows while one of its read steps is worked on. The finding covers everything
 * recorded so far and the value being typed.
 */
export type Live = ComponentType<{ visit: RecordState; run: RecordState; step: Step; finding: Finding }>;

/** The parts that a kind of work shows itself. The visit shows the others in its general form. */
export type Kind = {
  /** The drawing of a closed run, above the table of its results. */
  Result?: ComponentType<{ visit: RecordState; run: RecordState; finding: Finding }>;
  Live?: Live;
  /**
   * One more control on every screen of a run, such as a card for the worst case; with brief,
   * beside a pad.
   */
  Aside?: ComponentType<{ visit: RecordState; run: RecordState; steps: Step[]; at: number; brief: boolean }>;
};
