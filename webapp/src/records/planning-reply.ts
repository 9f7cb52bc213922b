/** The office's API on the work ahead; server/office has the meanings. */

export type Share = { name: string; tests: number; minutes: number };

export type Week = {
  start: string;
  tests: number;
  minutes: number;
  levelled: number;
  capacity: number;
  areas: Share[];
  kits: Share[];
  unmet: number;
};

export type PlanSettings = { areas: string[]; hours: number; away_days: number };

export type Workload = {
  settings: PlanSettings;
  weeks: Week[];
  unmet: { id: string; tag: string; area: string; due: string; why: string }[];
  whys: Record<string, number>;
  standards: { id: string; name: string; due: string; send: string; back: string; unmade: number }[];
  people: number;
  planned: number;
  all: number;
  usual_minutes: number;
  areas: string[];
};

export type BoardRound = {
  id: string;
  date: string;
  person: string;
  title: string;
  areas: string[] | null;
  stops: { instrument: string; method: string }[];
  tags: string[] | null;
  done: number;
  now: string;
  minutes: number;
  standards: string[] | null;
  /** Kinds of work in it for which its person has no authorisation. */
  unfit: string[] | null;
  /** Stops that a work order calls urgent. */
  urgent: number;
};

export type Board = {
  start: string;
  days: string[];
  people: { id: string; name: string }[];
  minutes: number;
  rounds: BoardRound[];
  ideas: BoardRound[];
  clashes: { date: string; standard: string; rounds: [string, string]; ids: [string, string]; free: string }[];
  away: string[];
};
