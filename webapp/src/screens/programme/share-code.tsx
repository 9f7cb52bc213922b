import { useEffect, useState } from "preact/hooks";
import { programmeWords as w } from "../../words/programme";
import type { Draft } from "../../records/programme";

/** Modules of white around a code, as ISO/IEC 18004 requires. */
const quiet = 4;

/** Code draws a grid in black on white, whatever the colours of the screen are. */
function Code({ grid }: { grid: boolean[][] }) {
  const side = grid.length + 2 * quiet;
  let dark = "";
  grid.forEach((row, y) => {
    row.forEach((on, x) => {
      if (on) dark += `M${x + quiet} ${y + quiet}h1v1h-1z`;
    });
  });
  return (
    <svg
      class="qr-code"
      width={Math.min(480, innerWidth - 32)}
      viewBox={`0 0 ${side} ${side}`}
      role="img"
      aria-label={w.code}
      shape-rendering="crispEdges"
    >
      <rect width={side} height={side} fill="#fff" />
      <path d={dark} fill="#000" />
    </svg>
  );
}

/**
 * ShareCode shows a programme, packed, as a QR code that opens it on another phone, or says that it
 * is too long for that.
 */
export function ShareCode({ draft, pack }: { draft: Draft; pack: (draft: Draft) => Promise<string> }) {
  const [made, set] = useState<
    { grid: boolean[][] | undefined; signs: number; most: number } | "not here" | undefined
  >();
  const key = JSON.stringify(draft);
  useEffect(() => {
    let here = true;
    Promise.all([pack(draft), import("../../views/code-grid")]).then(
      ([signs, { gridOf, mostSigns }]) =>
        here &&
        set({ grid: gridOf(`${location.origin}/programmes/take#`, signs), signs: signs.length, most: mostSigns }),
      (e: unknown) => {
        console.error(e);
        if (here) set("not here");
      },
    );
    return () => {
      here = false;
    };
  }, [key]);
  if (made === undefined) return <p class="quiet">{w.checking}</p>;
  if (made === "not here") return <p role="alert">{w.codeNotHere}</p>;
  if (!made.grid) return <p role="alert">{w.codeTooLong(made.signs, made.most)}</p>;
  return (
    <figure class="history">
      <Code grid={made.grid} />
      <figcaption class="small quiet">{w.codeHint}</figcaption>
    </figure>
  );
}
