import { findingOf } from "../records/finding";
import type { Json } from "../wire/records";
import { visitWords } from "../words/visit";
import { sentence } from "../words/words";

/**
 * alikeIn gathers the warnings of a finding that differ in nothing but their numbers, in the order
 * in which they came.
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
 * Warnings shows what a finding warns of: of warnings that are alike the first, and the others
 * where somebody asks for them.
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
