import { readField } from "../wire/read";
import { useEffect, useState } from "preact/hooks";
import { Button } from "../parts/button";
import { download } from "../parts/download";
import { useRecord } from "../store/hooks";
import { type RecordState, text } from "../wire/records";
import { afterWords as w } from "../words/after";
import { showDate } from "../words/words";
import { bypassesOf } from "../records/after";

const mm = { width: 100, height: 50, side: 40 };

const escaped = (s: string) =>
  s.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;").replaceAll('"', "&quot;");

/**
 * labelOf draws a defect label as an SVG document in millimetres: the instrument, its defect, and
 * the code that opens the instrument's page.
 */
export function labelOf(
  lines: { head: string; sub: string; tag: string; rest: string[] },
  grid: boolean[][] | undefined,
): string {
  let dark = "";
  const quiet = 4;
  const side = (grid?.length ?? 0) + 2 * quiet;
  for (const [y, row] of (grid ?? []).entries())
    for (const [x, on] of row.entries()) if (on) dark += `M${x + quiet} ${y + quiet}h1v1h-1z`;
  const code = grid
    ? `<svg x="${mm.width - mm.side - 2}" y="5" width="${mm.side}" height="${mm.side}" viewBox="0 0 ${side} ${side}" shape-rendering="crispEdges"><path d="${dark}" fill="#000"/></svg>`
    : "";
  const wide = grid ? mm.width - mm.side - 8 : mm.width - 8;
  const line = (y: number, size: number, bold: boolean, s: string) => {
    const fit = 0.58 * size * s.length > wide ? ` textLength="${wide}" lengthAdjust="spacingAndGlyphs"` : "";
    return `<text x="4" y="${y}" font-family="sans-serif" font-size="${size}" font-weight="${bold ? 700 : 400}"${fit}>${escaped(s)}</text>`;
  };
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${mm.width}mm" height="${mm.height}mm" viewBox="0 0 ${mm.width} ${mm.height}">`,
    `<rect width="${mm.width}" height="${mm.height}" fill="#fff"/><rect x="1" y="1" width="${mm.width - 2}" height="${mm.height - 2}" fill="none" stroke="#000" stroke-width="1.2"/>`,
    line(9, 6, true, lines.head),
    line(14, 3, true, lines.sub),
    line(22, 5.5, true, lines.tag),
    ...lines.rest.map((s, i) => line(28 + 4.6 * i, 3.2, false, s)),
    code,
    "</svg>",
  ].join("");
}

/** DefectLabel shows the label of an instrument that was taken out of service, for a printer. */
function DefectLabel({ visit }: { visit: RecordState }) {
  const instrument = useRecord(text(visit, "instrument"));
  const [grid, setGrid] = useState<boolean[][] | undefined>();
  const label = text(instrument ?? undefined, "label");
  useEffect(() => {
    if (label === "") return;
    import("./code-grid").then(
      (m) => setGrid(m.gridOf(`${location.origin}/t/`, label.toUpperCase())),
      (e: unknown) => console.error(e),
    );
  }, [label]);
  const { tag, serial } = readField("visit", visit, "item");
  const { code, reason, at } = readField("visit", visit, "disposition");
  const svg = labelOf(
    {
      head: w.label.head,
      sub: w.label.sub,
      tag,
      rest: [w.label.serial(serial), w.codes[code] ?? code, reason, w.label.on(showDate(at), "")],
    },
    grid,
  );
  return (
    <figure class="history">
      <img alt={w.label.alt(tag)} width="100%" src={`data:image/svg+xml;utf8,${encodeURIComponent(svg)}`} />
      <figcaption>
        <Button onClick={() => download(`defect-${tag}.svg`, new Blob([svg], { type: "image/svg+xml" }))}>
          {w.label.save}
        </Button>
      </figcaption>
    </figure>
  );
}

/**
 * AfterFacts shows what was decided after a failure, which bypasses were set and what became of
 * them.
 */
export function AfterFacts({ visit }: { visit: RecordState }) {
  const said: { [name: string]: string } = readField("visit", visit, "disposition");
  const { way = "" } = said;
  const bypasses = bypassesOf(visit);
  const cause = readField("visit", visit, "not_tested").cause;
  const shown = (name: string, v: string) => (name === "until" ? showDate(v) : name === "code" ? (w.codes[v] ?? v) : v);
  const names = Object.keys(w.facts).filter((n) => (said[n] ?? "") !== "");
  return (
    <>
      {cause === "" ? null : <p>{w.untested.causes[cause] ?? cause}</p>}
      {way === "" ? null : (
        <>
          <p>
            <strong>{w.said(way)}</strong>
          </p>
          <dl class="facts">
            {names.map((n) => (
              <>
                <dt key={n}>{w.facts[n]}</dt>
                <dd key={`${n} is`}>{shown(n, said[n] ?? "")}</dd>
              </>
            ))}
          </dl>
        </>
      )}
      {way === "taken_out" ? <DefectLabel visit={visit} /> : null}
      {bypasses.length === 0 ? null : (
        <dl class="facts">
          <dt>{w.bypass.title}</dt>
          {bypasses.map((b) => (
            <dd key={b.id}>
              {b.name}: {w.bypass.states[b.state] ?? b.state}
              {b.reason === "" ? "" : `, ${b.reason}`}
            </dd>
          ))}
        </dl>
      )}
    </>
  );
}
