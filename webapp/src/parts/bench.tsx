import type { ComponentChildren } from "preact";

export type BenchProps = {
  /** The instruction with its figures. Only this part may scroll, if a text is long. */
  head: ComponentChildren;
  /** The value that is typed, and what it means. */
  body?: ComponentChildren;
  /** The pad and the one main button. */
  act?: ComponentChildren;
  /** Links to what is seldom needed. */
  foot?: ComponentChildren;
  /** The body takes the remaining space, and may scroll. */
  roomy?: boolean;
  /** For a typed answer: a separate name, for the style and for tests. */
  name?: string;
  /** The value that the body describes, once everything about it is known. */
  looked?: string | undefined;
};

/**
 * Bench arranges one step of the work on one screen: the instruction above and the keys below, or
 * side by side on a low screen.
 */
export function Bench({ head, body, act, foot, roomy, name, looked }: BenchProps) {
  return (
    <div class={name ? `bench ${name}` : "bench"} data-looked={looked}>
      <div class="bench-say">
        {/* biome-ignore lint/a11y/noNoninteractiveTabindex: where it is long it scrolls, with the keys too */}
        <div class="bench-head" tabIndex={0}>
          {head}
        </div>
        {body ? (
          roomy ? (
            // biome-ignore lint/a11y/noNoninteractiveTabindex: as above
            <div class="bench-body roomy" tabIndex={0}>
              {body}
            </div>
          ) : (
            <div class="bench-body">{body}</div>
          )
        ) : null}
      </div>
      {act ? <div class="bench-act">{act}</div> : null}
      {foot ? <div class="bench-foot">{foot}</div> : null}
    </div>
  );
}
