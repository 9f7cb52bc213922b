import { call } from "../../calc/calc";
import { asNumber } from "../../wire/records";
import type { Doc } from "../../records/programme";

export type Dry = {
  /** Pressure over time as it would be. */
  t: number[];
  p: number[];
  /** What was "done": each step with its invented value. */
  rows: {
    id: string;
    line: number;
    do: string;
    name: string;
    text: string;
    target: string;
    unit: string;
    value: string;
    at: number;
  }[];
  reasons: { taken: string; reason: string }[];
  stop: string;
  finished: boolean;
  captures: Doc[];
};

/** draws gives numbers from 0 to 1 that follow from a seed. */
export function draws(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let x = Math.imul(a ^ (a >>> 15), a | 1);
    x ^= x + Math.imul(x ^ (x >>> 7), x | 61);
    return ((x ^ (x >>> 14)) >>> 0) / 4294967296;
  };
}

const most = 400;
const start = Date.parse("2000-01-01T00:00:00Z");

/**
 * dryRun works a programme by itself with invented readings that follow from a seed; nothing of it
 * is kept anywhere. It ends early where nobody wants it any more.
 */
export async function dryRun(
  programme: string,
  unit: string,
  seed: number,
  full: number,
  rate: number,
  base = 0,
  wanted: () => boolean = () => true,
): Promise<Dry> {
  const next = draws(seed);
  const captures: Doc[] = [];
  const done: Doc[] = [];
  const out: Dry = { t: [0], p: [base], rows: [], reasons: [], stop: "", finished: false, captures };
  let clock = 0;
  let pressure = base;
  const to = (p: number, seconds: number) => {
    clock += seconds;
    pressure = p;
    out.t.push(clock);
    out.p.push(p);
  };
  const near = (share: number) => String(Number((pressure + (next() - 0.5) * 2 * share * full).toPrecision(6)));
  const now = () => new Date(start + clock * 1000).toISOString();
  const seen = new Set<string>();
  while (out.rows.length < most && wanted()) {
    const { steps, branches, stop = "", finished } = await call("follow", { programme, unit, captures, done });
    out.reasons = branches.map(({ taken, reason }) => ({ taken, reason }));
    out.stop = stop;
    out.finished = finished;
    const open = steps.filter((s) => !s.done && !seen.has(s.id));
    if (out.finished || open.length === 0) return out;
    for (const s of open) {
      if (out.rows.length >= most) return out;
      const { id, do: does, line, name = "", text = "", unit: own = "", of = "" } = s;
      seen.add(id);
      const target = asNumber(s.target) ?? 0;
      const speed = asNumber(s.rate) ?? rate;
      let value = "";
      const put = (what: string, v: string) => {
        value = v;
        captures.push({ step: id, of: what, value: v, unit: what === "answer" ? "" : own, at: now() });
      };
      if (does === "set" || does === "ramp") to(target, Math.abs(target - pressure) / speed);
      else if (does === "vent") to(base, Math.abs(pressure - base) / speed);
      else if (does === "exercise") {
        for (let n = 0; n < (s.count ?? 1); n++) {
          to(target, Math.abs(target - pressure) / speed);
          to(base, Math.abs(target - base) / speed);
        }
      } else if (does === "hold") to(pressure, s.seconds ?? 0);
      else if (does === "settle") {
        const long = s.seconds ?? 0;
        const within = asNumber(s.within) ?? 0;
        for (let n = 0; n < 3; n++) {
          if (n > 0) to(pressure, long / 2);
          put("settle", String(Number((pressure + (next() - 0.5) * within).toPrecision(6))));
        }
      } else if (does === "read") {
        put(
          of || "indicated",
          own === "°C"
            ? String(20 + Math.round(next() * 40) / 10)
            : own === "hPa" && unit !== "hPa"
              ? String(1000 + Math.round(next() * 200) / 10)
              : near(of === "applied" ? 0.0002 : 0.002),
        );
        to(pressure, 8);
      } else if (does === "ask") {
        put("answer", s.as === "yes" ? "yes" : s.as === "number" ? String(Math.round(next() * 100)) : "invented");
      }
      if (does !== "read" && does !== "ask" && does !== "settle") done.push({ step: id, at: now() });
      out.rows.push({
        id,
        line,
        do: does,
        name,
        text,
        target: s.target ?? "",
        unit: own,
        value,
        at: clock,
      });
    }
  }
  return out;
}
