import { useEffect, useRef, useState } from "preact/hooks";
import { Button } from "../parts/button";
import { type Camera, readPicture, watch } from "../scan/scan";
import { readTag } from "../scan/tag";
import { navigate } from "../nav/route";
import { scanWords as w } from "../words/scan";

/**
 * Scanner shows the camera until it reads one of our codes. It names other codes and does not
 * follow them. With onLabel it passes on the label of an instrument.
 */
export function Scanner({ onEnd, onLabel }: { onEnd: () => void; onLabel?: (label: string) => void }) {
  const video = useRef<HTMLVideoElement>(null);
  const camera = useRef<Camera | undefined>(undefined);
  const [said, setSaid] = useState("");
  const [refused, setRefused] = useState(false);
  const [lamp, setLamp] = useState<boolean | undefined>(undefined);
  const read = (code: string) => {
    const tag = readTag(code);
    if (tag.kind !== "foreign") {
      camera.current?.stop();
      if (onLabel && tag.kind === "label") onLabel(tag.label);
      else navigate(tag.kind === "label" ? `/t/${tag.label}` : `/programmes/take#${tag.signs}`);
    } else setSaid(`${w.foreign} ${tag.text.slice(0, 120)}`);
  };
  useEffect(() => {
    let here = true;
    const element = video.current;
    if (!element) return;
    watch(element, read).then(
      (c) => {
        if (!here) c.stop();
        camera.current = c;
        if (c.light) setLamp(false);
      },
      (e: unknown) => {
        console.warn(e);
        if (here) setRefused(true);
      },
    );
    return () => {
      here = false;
      camera.current?.stop();
    };
  }, []);
  const picture = (e: Event) => {
    const file = (e.currentTarget as HTMLInputElement).files?.[0];
    if (!file) return;
    readPicture(file).then(
      (code) => (code === "" ? setSaid(w.nothing) : read(code)),
      () => setSaid(w.nothing),
    );
  };
  return (
    <section class="scanner" aria-label={w.title}>
      {refused ? <p role="alert">{w.refused}</p> : <p>{w.hint}</p>}
      <video ref={video} class={refused ? "gone" : ""} muted playsInline aria-label={w.title} />
      <p role="status">{said}</p>
      <div class="buttons">
        <Button onClick={onEnd}>{w.stop}</Button>
        {lamp === undefined ? null : (
          <Button
            pressed={lamp}
            onClick={() => {
              const on = !lamp;
              camera.current?.light?.(on).then(
                () => setLamp(on),
                () => setLamp(undefined),
              );
            }}
          >
            {w.light}
          </Button>
        )}
        <label class="button plain file">
          {w.photo}
          <input class="unseen" type="file" accept="image/*" capture="environment" onChange={picture} />
        </label>
      </div>
    </section>
  );
}
