import type { ComponentChildren } from "preact";

export type BenchProps = {
  /** What to do, with its figures; the only part that may scroll, where a text is long. */
  head: ComponentChildren;
  /** The value that is typed, and what it means. */
  body?: ComponentChildren;
  /** What is pressed: the pad and the one main button. */
  act?: ComponentChildren;
  /** Ways to what is seldom wanted. */
  foot?: ComponentChildren;
  /** The body takes the space that is left, and may scroll. */
  roomy?: boolean;
  /** Of an answer that is typed: a name of its own, for the style and for tests. */
  name?: string;
  /** The value that body speaks of, once everything is known of it. */
  looked?: string | undefined;
};

/**
 * Bench arranges one step of the work on one screen: what is said above, what is pressed below;
 * beside each other where the screen is low.
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
