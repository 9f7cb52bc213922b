import { cautions } from "./cautions";
import { formTexts } from "./forms";
import { kinds } from "./kinds";

const own = new Map(Object.entries(formTexts));

/** form gives a text of a form in German; a name or a unit that is the same in all stays. */
export function form(text: string): string {
  return own.get(text) ?? own.get(text.replace(/\d+$/, "{}"))?.replace("{}", text.match(/\d+$/)?.[0] ?? "") ?? text;
}

/** Texts of forms that come from other parts, in German there already. */
export const elsewhere: readonly string[] = [...Object.values(cautions.codes), ...Object.values(kinds.things)];
