import { LinkError } from "../link/link";
import { bringInWords as w } from "../words/bring-in";
import { sentence } from "../words/words";
import { saying } from "./asking";

/** importing says what went wrong with an imported file. */
export function importing(e: unknown): string {
  if (e instanceof LinkError && e.code === "changed") return w.changed;
  return e instanceof LinkError && e.code === "file" ? w.notRead(sentence(e.message)) : saying(e);
}
