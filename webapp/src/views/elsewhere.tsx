import { useEffect, useState } from "preact/hooks";
import { bring, type Fetched, holdsPart } from "../nav/hold";
import { Button } from "../parts/button";
import { showRange } from "../records/facts";
import type { Entry } from "../store/shelf";
import { entry } from "../store/here";
import { subscribe } from "../store/store";
import { alongWords as w } from "../words/along";
import { showDate, words } from "../words/words";

/**
 * Elsewhere replaces a record that is not on this device. In a large plant the record is fetched;
 * if that fails, the page shows what the register says. name is the id of a record or the text of a
 * label. otherwise is shown if the device holds everything.
 */
export function Elsewhere({ name, title, otherwise }: { name: string; title: string; otherwise: string }) {
  const [so, set] = useState<"whole" | "fetching" | Fetched>("fetching");
  const [known, know] = useState<Entry | undefined>();
  const [attempt, again] = useState(0);
  useEffect(() => {
    let here = true;
    const go = async () => {
      set("fetching");
      const [part, shown] = await Promise.all([holdsPart(), entry(name)]);
      if (!here) return;
      know(shown);
      const came = part ? await bring(name) : "whole";
      if (here) set(came);
    };
    go().catch((e: unknown) => {
      console.error(e);
      if (here) set("refused");
    });
    return () => {
      here = false;
    };
  }, [name, attempt]);
  useEffect(() => {
    if (so !== "offline") return;
    const line = () => again((n) => n + 1);
    globalThis.addEventListener("online", line);
    return () => globalThis.removeEventListener("online", line);
  }, [so]);
  useEffect(() => {
    // After a log-in it is not known yet whether the device will hold everything; it may have become
    // known since it was asked.
    if (so !== "whole") return undefined;
    const once = () => again((k) => k + 1);
    const end = subscribe((n) => n.kinds.includes("instrument") && once());
    holdsPart().then((part) => part && once(), console.error);
    return end;
  }, [so]);
  const i = words.instrument;
  const facts: [string, string][] = known
    ? [
        [i.serial, known.serial],
        [i.description, known.description],
        [i.range, showRange(known.range)],
        [i.area, known.area],
        [i.place, known.place],
        [i.due, showDate(known.due ?? "")],
        [i.status, known.status ?? ""],
      ]
    : [];
  return (
    <>
      <h1>{known?.tag || title}</h1>
      {so === "whole" ? (
        <>
          <p>{otherwise}</p>
          <p class="quiet">{w.missingHint}</p>
        </>
      ) : so === "fetching" || so === "here" ? (
        <p role="status">{w.fetching}</p>
      ) : (
        <>
          <p role="alert">{so === "unknown" ? w.unknown : `${w.notHere} ${so === "offline" ? w.noLine : w.refused}`}</p>
          {so === "unknown" ? null : (
            <Button kind="main" size="tall" wide onClick={() => again((n) => n + 1)}>
              {w.again}
            </Button>
          )}
        </>
      )}
      {facts.length > 0 ? (
        <dl class="facts">
          {facts
            .filter(([, shown]) => shown !== "")
            .map(([fact, shown]) => (
              <>
                <dt>{fact}</dt>
                <dd>{shown}</dd>
              </>
            ))}
        </dl>
      ) : null}
    </>
  );
}
