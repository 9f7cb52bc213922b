import type { JSX } from "preact";
import { connectionWords as w } from "../words/connection";

/** The parts of a test line; each has its number in the drawing and its name below it. */
type Part = keyof typeof w.parts;
type Layout = { parts: readonly Part[]; note: keyof typeof w.notes };

const along = (...parts: Part[]): readonly Part[] => ["source", "isolate", "vent", "standard", ...parts];
const both: Layout = { parts: ["tester", "static", "pitot", "cross", "instrument"], note: "pitot" };
const onlyStatic: Layout = { parts: ["tester", "static", "instrument"], note: "static" };

/** The layouts of the kinds of work, each part after the other from the source on. */
const layouts = {
  gauge: { parts: along("instrument"), note: "gauge" },
  manifold: { parts: along("instrument", "others"), note: "manifold" },
  transmitter: { parts: along("instrument", "loop"), note: "gauge" },
  switch: { parts: along("instrument", "contact"), note: "switch" },
  leak: { parts: along("system"), note: "leak" },
  burst: { parts: along("disc"), note: "burst" },
  altimeter: onlyStatic,
  "vertical-speed": onlyStatic,
  "reporting-altitude": onlyStatic,
  airspeed: both,
  "pitot-static-leak": { ...both, parts: ["tester", "static", "pitot", "cross", "system"] },
} satisfies { [kind: string]: Layout };

/** layoutOf finds the drawing of a kind of work; a programme is drawn as for a gauge. */
export function layoutOf(kind: string, more: { signal?: boolean; together?: boolean } = {}): Layout {
  if (more.together) return layouts.manifold;
  if (kind === "gauge" && more.signal) return layouts.transmitter;
  return Object.hasOwn(layouts, kind) ? layouts[kind as keyof typeof layouts] : layouts.gauge;
}

const round = (x: number, y: number) => <circle cx={x} cy={y} r="13" />;
/** A valve, along the line or, upright, on a branch. */
const valve = (x: number, y: number, upright = false) => (
  <path d={upright ? `M${x - 7} ${y - 9}h14l-14 18h14z` : `M${x - 9} ${y - 7}v14l18 -14v14z`} />
);

/** on draws a part at its place on the line, which is at y = 90. */
function on(part: Part, x: number): JSX.Element {
  const stem = <path d={`M${x} 90V57`} />;
  switch (part) {
    case "source":
    case "tester":
      return <path d={`M${x - 15} 74h30v32h-30zM${x - 8} 97l16 -14m-7 0h7v7`} />;
    case "isolate":
      return valve(x, 90);
    case "vent":
      return (
        <>
          <path d={`M${x} 90V71M${x} 53V34M${x - 5} 40l5 -7 5 7`} />
          {valve(x, 62, true)}
        </>
      );
    case "standard":
      return (
        <>
          {stem}
          {round(x, 44)}
          <circle cx={x} cy="44" r="8" />
        </>
      );
    case "others":
      return (
        <>
          {stem}
          {round(x, 44)}
          <path d={`M${x} 90h30V57`} />
          {round(x + 30, 44)}
        </>
      );
    case "loop":
    case "contact":
      return (
        <>
          <path stroke-dasharray="4 3" d={`M${x - 33} 40H${x - 13}M${x - 33} 48H${x - 13}`} />
          <path d={`M${x - 13} 31h26v26h-26zM${x - 6} 50l6 -13 6 13`} />
        </>
      );
    case "system":
      return <path d={`M${x - 15} 90v-22q0 -8 8 -8h14q8 0 8 8v36q0 8 -8 8h-14q-8 0 -8 -8z`} />;
    case "disc":
      return (
        <>
          <path d={`M${x - 9} 74v32M${x + 1} 74v32M${x - 9} 80q14 10 0 20M${x + 1} 90h18m-6 -5l6 5 -6 5`} />
          <path stroke-dasharray="4 3" d={`M${x - 18} 60h34v10M${x - 18} 120h34v-10`} />
        </>
      );
    default:
      return (
        <>
          {stem}
          {round(x, 44)}
        </>
      );
  }
}

/** Numbered is a part's number beside it. */
const numbered = (n: number, x: number, y: number) => (
  <text x={x} y={y} text-anchor="middle">
    {n}
  </text>
);

/** The place of a part's number, where that is not just below the line. */
const below: { [part in Part]?: number } = { source: 124, system: 132, disc: 138, loop: 74, contact: 74 };

/** Line is one line from the source on, with its parts. */
function Line({ parts }: { parts: readonly Part[] }) {
  const step = 280 / parts.length;
  const at = (i: number) => 24 + i * step;
  const end = parts.findLastIndex((p) => p !== "loop" && p !== "contact");
  // The line is drawn between its parts, not through them.
  const half = (p: Part | undefined) =>
    p === "isolate" || p === "disc" ? 9 : p === "source" || p === "system" ? 15 : 0;
  return (
    <>
      {parts.slice(1, end + 1).map((p, i) => (
        <path key={p} d={`M${at(i) + half(parts[i])} 90H${at(i + 1) - half(p)}`} />
      ))}
      {parts.map((p, i) => (
        <g key={p}>
          {on(p, at(i))}
          {numbered(i + 1, at(i), below[p] ?? 112)}
        </g>
      ))}
    </>
  );
}

/** Air is a test set with a static line and, where there is one, a pitot line. */
function Air({ parts }: { parts: readonly Part[] }) {
  const no = (p: Part) => parts.indexOf(p) + 1;
  const last = parts.at(-1) ?? "instrument";
  const pitot = parts.includes("pitot");
  return (
    <>
      <path d="M14 34h44v76h-44zM26 84l20 -18m-8 0h8v8" />
      {numbered(no("tester"), 36, 128)}
      <path d={`M58 50H${pitot ? 262 : 247}`} />
      {numbered(no("static"), 110, 44)}
      {pitot ? (
        <>
          <path d="M58 90H262M160 50v11M160 79v11" />
          {valve(160, 70, true)}
          {numbered(no("cross"), 178, 75)}
          {numbered(no("pitot"), 110, 106)}
        </>
      ) : null}
      {pitot ? <path d="M262 40h26v60h-26z" /> : round(260, 50)}
      {numbered(no(last), pitot ? 275 : 260, pitot ? 118 : 84)}
    </>
  );
}

/**
 * Connection is a line drawing of what is connected to what in a kind of work: numbered parts, their
 * names below, and what to look at.
 */
export function Connection({ kind, signal, together }: { kind: string; signal: boolean; together: boolean }) {
  const { parts, note } = layoutOf(kind, { signal, together });
  return (
    <div class="connection">
      <svg viewBox="0 24 320 120" role="img" aria-label={w.drawing(parts.map((p) => w.parts[p]).join(", "))}>
        {parts[0] === "tester" ? <Air parts={parts} /> : <Line parts={parts} />}
      </svg>
      <ol>
        {parts.map((p) => (
          <li key={p}>{w.parts[p]}</li>
        ))}
      </ol>
      <p>{w.notes[note]}</p>
    </div>
  );
}
