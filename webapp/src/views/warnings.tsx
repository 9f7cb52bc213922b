import { findingOf } from "../records/finding";
import type { Json } from "../wire/records";
import { visitWords } from "../words/visit";
import { sentence } from "../words/words";

/**
 * alikeIn groups the warnings of a finding that differ only in their numbers, in the order in which
 * they came.
 */
export function alikeIn(finding: { [name: string]: Json }): string[][] {
  const groups: { [words: string]: string[] } = {};
  for (const { message: said = "" } of findingOf(finding, "gauge").warnings ?? []) {
    const message = sentence(said);
    const words = message.replace(/[-−.,\d]/g, "");
    groups[words] = [...(groups[words] ?? []), message];
  }
  return Object.values(groups);
}

/**
 * Warnings shows the warnings of a finding: of similar ones the first, and the others on request.
 */
export const Warnings = ({ finding }: { finding: { [name: string]: Json } }) => (
  <>
    {alikeIn(finding).map(([first, ...more]) =>
      more[0] ? (
        <details class="caution opened">
          <summary>
            {first} {visitWords.result.alike(more.length)}
          </summary>
          {more.map((x) => (
            <p>{x}</p>
          ))}
        </details>
      ) : (
        <p class="caution">{first}</p>
      ),
    )}
  </>
);
