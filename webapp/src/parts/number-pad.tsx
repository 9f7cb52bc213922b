import { useEffect, useId, useRef } from "preact/hooks";
import { visitWords } from "../words/visit";
import { decimalMark, showDecimal } from "../words/words";
import { UnitPick } from "./unit-pick";
import { type PadKey, press, step, tidy } from "./number-pad-state";

export type NumberPadProps = {
  label: string;
  /** Plain decimal text, with a point. */
  value: string;
  onChange: (value: string) => void;
  unit: string;
  /** Other units in which it may be typed. */
  units?: readonly string[] | undefined;
  onUnit?: ((unit: string) => void) | undefined;
  /** Decimal text of the smallest step; without it there are no step keys. */
  resolution?: string | undefined;
  /**
   * Where the step keys begin while nothing is typed. It is shown, but is no value before somebody
   * presses a key.
   */
  start?: string | undefined;
  /** Keeps the value, on Enter. */
  onEnter?: (() => void) | undefined;
};

const w = visitWords.pad;

/** PadValue is the number as it is typed, its unit always visible. A keyboard works too. */
export function PadValue(p: NumberPadProps) {
  const id = useId();
  // The typed or offered number is always fully visible: the more digits, the smaller they are.
  const digits = Math.max(4, p.value.length, p.start?.length ?? 0);
  return (
    <div class="pad">
      <label for={id}>{p.label}</label>
      <div class="pad-value" style={{ "--digits": digits }}>
        <input
          id={id}
          type="text"
          inputMode="none"
          autocomplete="off"
          value={p.value.replace("-", "\u2212").replace(".", decimalMark())}
          placeholder={p.start ? showDecimal(p.start) : ""}
          onInput={(e) => {
            const typed = tidy(e.currentTarget.value, p.unit);
            const other = p.units?.find((u) => u !== p.unit && tidy(typed, u) !== typed.trimStart());
            if (other && p.onUnit) p.onUnit(other);
            p.onChange(other ? tidy(typed, other) : typed);
          }}
          onKeyDown={(e) => e.key === "Enter" && p.onEnter?.()}
        />
        <UnitPick unit={p.unit} units={p.units} onUnit={p.onUnit} />
      </div>
    </div>
  );
}

/** How long a key is held before it repeats, and the interval after that, ms. */
const [held, again] = [450, 110];

/** Repeating is a key that repeats while it is held. */
function Repeating({ label, shown, onPress }: { label: string; shown: string; onPress: () => void }) {
  const latest = useRef(onPress);
  latest.current = onPress;
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined);
  const repeated = useRef(false);
  const stop = () => {
    clearTimeout(timer.current);
    timer.current = undefined;
  };
  const go = () => {
    repeated.current = true;
    latest.current();
    timer.current = setTimeout(go, again);
  };
  useEffect(() => stop, []);
  return (
    <button
      type="button"
      class="pad-key small-key"
      aria-label={label}
      onPointerDown={() => {
        repeated.current = false;
        stop();
        timer.current = setTimeout(go, held);
      }}
      onPointerUp={stop}
      onPointerLeave={stop}
      onPointerCancel={stop}
      onContextMenu={(e) => e.preventDefault()}
      onClick={() => {
        if (!repeated.current) latest.current();
        repeated.current = false;
      }}
    >
      {shown}
    </button>
  );
}

const rows: PadKey[][] = [
  ["7", "8", "9"],
  ["4", "5", "6"],
  ["1", "2", "3"],
  ["sign", "0", "mark"],
];

/** PadKeys is a large pad for one number. */
export function PadKeys(p: NumberPadProps) {
  const shown: Record<string, string> = { sign: "\u00b1", mark: decimalMark(), back: "\u232b" };
  const named: Record<string, string> = { sign: w.sign, mark: w.mark, back: w.back };
  const key = (k: PadKey) => (
    <button key={k} type="button" class="pad-key" aria-label={named[k]} onClick={() => p.onChange(press(p.value, k))}>
      {shown[k] ?? k}
    </button>
  );
  const by = p.resolution;
  const move = (way: 1 | -1) => p.onChange(step(p.value, by ?? "", way, p.start ?? "0"));
  const beside = [
    by ? (
      <Repeating label={w.up(`${showDecimal(by)} ${p.unit}`)} shown={`+ ${showDecimal(by)}`} onPress={() => move(1)} />
    ) : (
      <span />
    ),
    by ? (
      <Repeating
        label={w.down(`${showDecimal(by)} ${p.unit}`)}
        shown={`\u2212 ${showDecimal(by)}`}
        onPress={() => move(-1)}
      />
    ) : (
      <span />
    ),
    key("back"),
    p.start ? (
      <button
        type="button"
        class="pad-key small-key"
        aria-label={w.take(`${showDecimal(p.start)} ${p.unit}`)}
        onClick={() => p.onChange(p.start ?? "")}
      >
        {`= ${showDecimal(p.start)}`}
      </button>
    ) : (
      <span />
    ),
  ];
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset would be read out at every key
    <div class="pad-keys" role="group" aria-label={w.keys}>
      {rows.flatMap((r, i) => [...r.map(key), beside[i]])}
    </div>
  );
}
