import { useEffect, useRef, useState } from "preact/hooks";
import { visitWords } from "../../words/visit";
import { secondsLeft } from "../../records/run";

const w = visitWords.run;

/** useClock gives the time, updated four times a second and when the page is shown again. */
export function useClock(): number {
  const [now, setNow] = useState(Date.now());
  useEffect(() => {
    const look = () => setNow(Date.now());
    const t = setInterval(look, 250);
    document.addEventListener("visibilitychange", look);
    return () => {
      clearInterval(t);
      document.removeEventListener("visibilitychange", look);
    };
  }, []);
  return now;
}

/**
 * Timer shows what is left of a wait. It follows the wall clock, so that a locked screen changes
 * nothing.
 */
export function Timer({
  from,
  seconds,
  onOver,
  over = w.holdOver,
}: {
  from: number;
  seconds: number;
  onOver: () => void;
  over?: string;
}) {
  const now = useClock();
  const announced = useRef(false);
  const left = secondsLeft(from, seconds, now);
  useEffect(() => {
    if (left > 0 || announced.current) return;
    announced.current = true;
    onOver();
  }, [left]);
  return (
    <p class="timer" role="timer" aria-live={left === 0 ? "assertive" : "off"}>
      <svg class="ring" viewBox="0 0 36 36" aria-hidden="true">
        <circle class="ring-all" cx="18" cy="18" r="15" />
        <circle
          class="ring-left"
          cx="18"
          cy="18"
          r="15"
          pathLength="100"
          stroke-dasharray={`${seconds > 0 ? (100 * left) / seconds : 0} 100`}
        />
      </svg>
      {left === 0 ? over : <strong>{visitWords.seconds(left)}</strong>}
    </p>
  );
}
