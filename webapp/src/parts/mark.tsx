import { words } from "../words/words";

/**
 * A verdict as the calculation writes it (`calc/conformity`). Each language has its own words for
 * it.
 */
export type Verdict = keyof typeof words.verdict;

/** isVerdict says whether a value of a finding is a verdict. */
export function isVerdict(v: unknown): v is Verdict {
  return typeof v === "string" && v in words.verdict;
}

/** isFailed says whether a verdict is a failure, conditional or not. */
export const isFailed = (v: unknown): boolean => v === "fail" || v === "conditional-fail";

/**
 * MarkShape is the verdict's shape with its pattern, for charts and lists: 24 × 24 around 0,0,
 * scaled by size.
 */
export function MarkShape({ verdict }: { verdict: Verdict }) {
  switch (verdict) {
    case "pass":
      return <circle class="mark-solid" cx="12" cy="12" r="9" />;
    case "conditional-pass":
      return (
        <>
          <circle class="mark-line" cx="12" cy="12" r="9" />
          <path class="mark-solid" d="M12 3a9 9 0 0 0 0 18z" />
        </>
      );
    case "fail":
      return (
        <>
          <rect class="mark-line" x="3" y="3" width="18" height="18" />
          <path class="mark-line" d="M3 3l18 18M21 3L3 21" />
        </>
      );
    case "conditional-fail":
      return (
        <>
          <rect class="mark-line" x="3" y="3" width="18" height="18" />
          <path class="mark-line" d="M3 12L12 3M3 21L21 3M12 21l9-9" />
        </>
      );
    case "undecided":
      return (
        <>
          <path class="mark-line" d="M12 2.5L22 21H2z" />
          <circle class="mark-solid" cx="12" cy="16" r="2" />
        </>
      );
    default: {
      const never: never = verdict;
      return never;
    }
  }
}

/** Mark is a verdict as a word beside its shape, readable without colour. */
export function Mark({ verdict, large }: { verdict: Verdict; large?: boolean }) {
  return (
    <span class={large ? "mark large" : "mark"}>
      <svg viewBox="0 0 24 24" aria-hidden="true">
        <MarkShape verdict={verdict} />
      </svg>
      <span>{words.verdict[verdict]}</span>
    </span>
  );
}
