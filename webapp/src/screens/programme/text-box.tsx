import { useId, useRef } from "preact/hooks";
import { programmeWords as w } from "../../words/programme";
import type { Finding } from "../../records/programme";

/**
 * TextBox is the programme's text with its line numbers. A line with a finding has a mark; the
 * finding is below, where a touch leads to its line.
 */
export function TextBox({
  text,
  findings,
  onInput,
}: {
  text: string;
  findings: Finding[];
  onInput: (text: string) => void;
}) {
  const id = useId();
  const box = useRef<HTMLTextAreaElement>(null);
  const rows = text.split("\n");
  const marks = new Map<number, string>();
  for (const f of findings) if (marks.get(f.line) !== "error") marks.set(f.line, f.level);
  const mark = (line: number) => (marks.get(line) === "error" ? "\u2715" : marks.has(line) ? "!" : " ");
  const wide = String(rows.length).length;
  const go = (line: number) => {
    const from = rows.slice(0, line - 1).reduce((n, r) => n + r.length + 1, 0);
    box.current?.focus();
    box.current?.setSelectionRange(from, from + (rows[line - 1]?.length ?? 0));
  };
  return (
    <div class="field">
      <label for={id}>{w.text}</label>
      <div class="programme-text">
        <pre aria-hidden="true">{rows.map((_, i) => `${mark(i + 1)} ${String(i + 1).padStart(wide)}`).join("\n")}</pre>
        <textarea
          id={id}
          ref={box}
          value={text}
          rows={Math.max(6, rows.length)}
          wrap="off"
          spellcheck={false}
          autocapitalize="none"
          autocomplete="off"
          aria-describedby={`${id}-found`}
          onInput={(e) => onInput(e.currentTarget.value)}
        />
      </div>
      <ul class="findings" id={`${id}-found`} aria-live="polite">
        {findings.map((f, i) => (
          <li key={i}>
            <button type="button" class="step-row" onClick={() => go(f.line)}>
              <strong>
                {f.level === "error" ? "\u2715 " : "! "}
                {w.level[f.level] ?? f.level}, {w.line(f.line)}
              </strong>
              : {f.message}
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}
