import type { ComponentChildren } from "preact";

export type ButtonProps = {
  children: ComponentChildren;
  onClick?: () => void;
  /** main: the one next action; plain: another way; quiet: rarely used. */
  kind?: "main" | "plain" | "quiet";
  /** wide fills the row; tall is for work screens. */
  size?: "normal" | "tall";
  wide?: boolean;
  disabled?: boolean;
  type?: "button" | "submit";
  pressed?: boolean;
  label?: string;
};

/** Button is one thing a person can do. */
export function Button(p: ButtonProps) {
  const classes = ["button", p.kind ?? "plain", p.size === "tall" ? "tall" : "", p.wide ? "wide" : ""]
    .filter(Boolean)
    .join(" ");
  return (
    <button
      type={p.type ?? "button"}
      class={classes}
      disabled={p.disabled ?? false}
      onClick={p.onClick}
      aria-label={p.label}
      aria-pressed={p.pressed}
    >
      {p.children}
    </button>
  );
}
