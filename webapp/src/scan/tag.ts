export type Tag =
  | { kind: "label"; label: string }
  | { kind: "programme"; signs: string }
  | { kind: "foreign"; text: string };

/**
 * readTag recognizes our labels, which are links ending in /t/LABEL on any of the plant's servers,
 * and programmes, which follow /programmes/take#. Any other code is neither.
 */
export function readTag(code: string): Tag {
  const text = code.trim();
  const label = /^https?:\/\/[^/?#\s]+\/t\/([0-9A-Za-z-]{4,40})\/?$/i.exec(text)?.[1];
  const signs = /^https?:\/\/[^/?#\s]+\/programmes\/take#(\S+)$/.exec(text)?.[1];
  if (signs !== undefined) return { kind: "programme", signs };
  return label === undefined ? { kind: "foreign", text } : { kind: "label", label: label.toLowerCase() };
}
