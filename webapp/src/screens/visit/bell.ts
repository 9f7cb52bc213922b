import { useEffect } from "preact/hooks";

const key = "tone";
let sound: AudioContext | undefined;

/** toneOn says whether the end of a wait sounds a tone. It does until somebody switches it off. */
export function toneOn(): boolean {
  try {
    return localStorage.getItem(key) !== "off";
  } catch {
    return true; // storage switched off
  }
}

/** setTone switches the tone. */
export function setTone(on: boolean): void {
  try {
    localStorage.setItem(key, on ? "on" : "off");
  } catch {
    // as above
  }
}

/** allowTone enables sound on a tap: a browser plays none before one. */
export function allowTone(): void {
  if (!toneOn() || !("AudioContext" in globalThis)) return;
  sound ??= new AudioContext();
  if (sound.state === "suspended") sound.resume().catch(() => undefined);
}

/** ring signals the end of a wait: by vibration, and by a tone if that is on. */
export function ring(): void {
  navigator.vibrate?.([200, 100, 200]);
  if (!sound || !toneOn() || sound.state !== "running") return;
  const now = sound.currentTime;
  for (const [at, pitch] of [
    [0, 880],
    [0.25, 1175],
  ] as const) {
    const voice = sound.createOscillator();
    const loud = sound.createGain();
    voice.frequency.value = pitch;
    loud.gain.setValueAtTime(0.4, now + at);
    loud.gain.exponentialRampToValueAtTime(0.001, now + at + 0.22);
    voice.connect(loud).connect(sound.destination);
    voice.start(now + at);
    voice.stop(now + at + 0.24);
  }
}

/** feel vibrates briefly for a recorded value, longer for a failure. */
export function feel(failed: boolean): void {
  navigator.vibrate?.(failed ? 350 : 25);
}

/**
 * useAwake keeps the screen on during a run. A browser releases that when the page is hidden, so it
 * is requested again.
 */
export function useAwake(): void {
  useEffect(() => {
    let lock: { release: () => Promise<void> } | undefined;
    let here = true;
    const ask = () => {
      if (document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
      navigator.wakeLock.request("screen").then(
        (l) => {
          if (here) lock = l;
          else l.release().catch(() => undefined);
        },
        () => undefined, // the battery is low, or the browser does not allow it: the wait goes on by the wall clock
      );
    };
    ask();
    document.addEventListener("visibilitychange", ask);
    return () => {
      here = false;
      document.removeEventListener("visibilitychange", ask);
      lock?.release().catch(() => undefined);
    };
  }, []);
}
