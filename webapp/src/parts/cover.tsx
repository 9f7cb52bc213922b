import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { visitWords } from "../words/visit";
import { Button } from "./button";

/** Cover is a sheet over the whole screen for what is one tap away. Nothing below it moves. */
export function Cover({
  title,
  onClose,
  children,
}: {
  title: string;
  onClose: () => void;
  children: ComponentChildren;
}) {
  const sheet = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const before = document.activeElement;
    sheet.current?.focus({ preventScroll: true });
    const leave = (e: KeyboardEvent) => e.key === "Escape" && onClose();
    document.addEventListener("keydown", leave);
    return () => {
      document.removeEventListener("keydown", leave);
      if (before instanceof HTMLElement && before.isConnected) before.focus({ preventScroll: true });
    };
  }, []);
  return (
    <div class="cover" role="dialog" aria-modal="true" aria-label={title} tabIndex={-1} ref={sheet}>
      <header>
        <h2>{title}</h2>
        <Button onClick={onClose}>{visitWords.run.closeSheet}</Button>
      </header>
      {children}
    </div>
  );
}
