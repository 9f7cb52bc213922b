import { useState } from "preact/hooks";
import { useKeep } from "../nav/keep";
import { type Doc, type Field, opened, type Typed, type Wrong } from "./form";

/**
 * useForm holds what is typed into a form and the complaint about it, which stays until the next
 * input.
 */
export function useForm(fields: readonly Field[], doc: Doc) {
  const [typed, type] = useState<Typed>(opened(fields, doc));
  const [wrong, setWrong] = useState<Wrong | undefined>();
  const k = useKeep();
  const clear = () => {
    setWrong(undefined);
    k.say(undefined);
  };
  return {
    k,
    typed,
    wrong,
    clear,
    change: (t: Typed) => {
      type(t);
      clear();
    },
    refuse: (x: Wrong) => {
      setWrong(x);
      k.say(x.error);
    },
  };
}
