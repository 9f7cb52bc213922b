import type { ComponentType } from "preact";
import { useEffect, useState } from "preact/hooks";
import { words } from "../words/words";

type Props<P> = { load: () => Promise<ComponentType<P>>; props: P; quiet?: boolean };

/**
 * Later shows a component whose code is fetched when it is first needed. With quiet it shows
 * nothing until then.
 */
export function Later<P extends object>({ load, props, quiet }: Props<P>) {
  const [screen, set] = useState<{ it: ComponentType<P> } | "broken" | undefined>();
  useEffect(() => {
    let here = true;
    load().then(
      (it) => here && set({ it }),
      (e: unknown) => {
        console.error(e);
        if (here) set("broken");
      },
    );
    return () => {
      here = false;
    };
  }, []);
  if (quiet && (screen === undefined || screen === "broken")) return null;
  if (screen === undefined) return <p class="quiet">{words.shell.loading}</p>;
  if (screen === "broken") return <p role="alert">{words.shell.broken}</p>;
  const It = screen.it;
  return <It {...props} />;
}
