import { useId } from "preact/hooks";
import { visitWords } from "../words/visit";
import { decimalMark, showDecimal } from "../words/words";
import { type PadKey, press, step, tidy } from "./number-pad-state";

export type NumberPadProps = {
  label: string;
  /** Plain decimal text, with a point. */
  value: string;
  onChange: (value: string) => void;
  unit: string;
  /** Decimal text of the smallest step; without it there are no step keys. */
  resolution?: string | undefined;
  /** Where the step keys begin while nothing is typed. */
  start?: string | undefined;
};

const rows: PadKey[][] = [
  ["7", "8", "9"],
  ["4", "5", "6"],
  ["1", "2", "3"],
  ["sign", "0", "mark"],
];

/** NumberPad is a large pad for one number, its unit always in view; a keyboard works too. */
export function NumberPad(p: NumberPadProps) {
  const id = useId();
  const w = visitWords.pad;
  const shown: Record<string, string> = { sign: "\u00b1", mark: decimalMark(), back: "\u232b" };
  const named: Record<string, string> = { sign: w.sign, mark: w.mark, back: w.back };
  const key = (k: PadKey) => (
    <button key={k} type="button" class="pad-key" aria-label={named[k]} onClick={() => p.onChange(press(p.value, k))}>
      {shown[k] ?? k}
    </button>
  );
  const by = p.resolution;
  const move = (way: 1 | -1) => p.onChange(step(p.value, by ?? "", way, p.start ?? "0"));
  return (
    <div class="pad">
      <label for={id}>{p.label}</label>
      <div class="pad-value">
        <input
          id={id}
          type="text"
          inputMode="none"
          autocomplete="off"
          value={showDecimal(p.value)}
          onInput={(e) => {
            const kept = tidy(e.currentTarget.value);
            e.currentTarget.value = showDecimal(kept);
            p.onChange(kept);
          }}
        />
        <span class="pad-unit">{p.unit}</span>
        {key("back")}
      </div>
      {by ? (
        <div class="pad-steps">
          <button type="button" class="pad-key" aria-label={w.down(`${showDecimal(by)} ${p.unit}`)} onClick={() => move(-1)}>
            {`\u2212 ${showDecimal(by)}`}
          </button>
          <button type="button" class="pad-key" aria-label={w.up(`${showDecimal(by)} ${p.unit}`)} onClick={() => move(1)}>
            {`+ ${showDecimal(by)}`}
          </button>
        </div>
      ) : null}
      {/* biome-ignore lint/a11y/useSemanticElements: a fieldset would be read out at every key */}
      <div class="pad-keys" role="group" aria-label={w.keys}>
        {rows.flat().map(key)}
      </div>
    </div>
  );
}
