/** The office's API on the test results over the years; server/office has the meanings. */

export type Progress = { done: number; of: number };

export type Tested = {
  id: string;
  instrument: string;
  tag: string;
  who: string;
  started: string;
  method: string;
  verdict: string;
  left: string;
  of_limit?: string;
  adjusted: boolean;
  brought: boolean;
};

export type Decision = {
  accepted: boolean;
  was: number;
  months: number;
  action: string;
  reason: string;
  method: string;
  chance?: string;
  due: string;
  why: string;
  by: string;
  at: string;
};

export type Advice = {
  id: string;
  tag: string;
  name: string;
  area: string;
  group: string;
  interval: number;
  due: string;
  at: string;
  action: string;
  months: number;
  new_due: string;
  method: string;
  reason: string;
  chance: number | null;
  new_chance: number | null;
  by: string;
  bound: string;
  tests: number;
  out: number;
  decision: Decision | null;
};

export type Rate = { value: string; of: number; passed: number; undecided: number; low: number; high: number };

export type GroupAdvice = {
  group: string;
  members: number;
  interval: number;
  of: number;
  out: number;
  chance: number | null;
  action: string;
  months: number;
  reason: string;
  low: number | null;
  high: number | null;
  advised: Record<string, number>;
};

export type Figures = {
  reading?: Progress;
  since: string;
  all: Rate;
  rates: Record<string, Rate[]>;
  actions: Record<string, number>;
  groups: GroupAdvice[];
  worst: Advice[];
  cost: {
    hours_now: number;
    hours_then: number;
    out_now: number;
    out_then: number;
    known: number;
    planned: number;
    all: number;
    usual_minutes: number;
    aimed_at: number;
  };
  unread: number;
};

export type Advices = { reading?: Progress; rows: Advice[]; found: number };
export type Tests = { reading?: Progress; rows: Tested[]; found: number };

export type Outlook = {
  reading?: Progress;
  advice: Advice | null;
  tag: string;
  tests: Tested[];
  unit: string;
  point: string;
  limit: number;
  found: { date: string; error: number }[];
  ahead: { date: string; mid: number; low: number; high: number }[];
  decisions: Decision[];
};
