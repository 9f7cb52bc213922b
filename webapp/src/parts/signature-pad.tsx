import { useRef } from "preact/hooks";
import { visitWords } from "../words/visit";

/** A stroke is a list of x, y, x, y …, in thousandths of the box's width. */
export type Stroke = number[];

export type SignaturePadProps = { label: string; strokes: Stroke[]; onChange: (strokes: Stroke[]) => void };

/** strokePath writes a stroke as an SVG path. */
export function strokePath(s: Stroke): string {
  let d = "";
  for (let i = 0; i + 1 < s.length; i += 2) d += `${i === 0 ? "M" : "L"}${s[i]} ${s[i + 1]}`;
  return s.length === 2 ? `${d}l1 0` : d;
}

/** SignaturePad takes strokes drawn with a finger, a pen or a mouse. */
export function SignaturePad(p: SignaturePadProps) {
  const now = useRef<Stroke | undefined>(undefined);
  const all = useRef(p.strokes);
  all.current = p.strokes;
  const place = (e: PointerEvent): [number, number] => {
    const box = (e.currentTarget as SVGSVGElement).getBoundingClientRect();
    return [
      Math.round(((e.clientX - box.left) / box.width) * 1000),
      Math.round(((e.clientY - box.top) / box.width) * 1000),
    ];
  };
  const down = (e: PointerEvent) => {
    e.preventDefault();
    (e.currentTarget as SVGSVGElement).setPointerCapture(e.pointerId);
    now.current = place(e);
    all.current = [...all.current, now.current];
    p.onChange(all.current);
  };
  const move = (e: PointerEvent) => {
    const s = now.current;
    if (!s) return;
    now.current = [...s, ...place(e)];
    all.current = [...all.current.slice(0, -1), now.current];
    p.onChange(all.current);
  };
  const up = () => {
    now.current = undefined;
  };
  return (
    <div class="signature">
      <p class="signature-label">{p.label}</p>
      <svg
        viewBox="0 0 1000 400"
        role="img"
        aria-label={p.label}
        onPointerDown={down}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={up}
      >
        <line class="zero" x1="40" x2="960" y1="320" y2="320" />
        {p.strokes.map((s, i) => (
          <path key={i} class="stroke" d={strokePath(s)} />
        ))}
      </svg>
      <button type="button" class="button quiet tall" onClick={() => p.onChange([])}>
        {visitWords.finish.clear}
      </button>
    </div>
  );
}
