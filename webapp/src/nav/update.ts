import { useEffect, useState } from "preact/hooks";
import { trusted } from "../calc/trusted";
import { wanted } from "../words/language";

let registration: ServiceWorkerRegistration | undefined;
const listeners = new Set<() => void>();

function tell(): void {
  for (const fn of listeners) fn();
}

/**
 * keepOffline registers the service worker, which keeps the program for work without a connection.
 */
export async function keepOffline(): Promise<void> {
  if (!("serviceWorker" in navigator)) return;
  const had = navigator.serviceWorker.controller !== null;
  let reloaded = false;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (!had || reloaded) return; // the very first worker takes over silently
    reloaded = true;
    location.reload();
  });
  if (wanted !== "en") await import("./language").then((m) => m.keepLanguage(wanted));
  registration = await navigator.serviceWorker.register(trusted("/sw.js"), { updateViaCache: "none" });
  registration.addEventListener("updatefound", () => {
    registration?.installing?.addEventListener("statechange", tell);
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") registration?.update().catch(() => undefined);
  });
  tell();
}

/** useUpdate gives a function that switches to a new version when one is ready. */
export function useUpdate(): (() => void) | undefined {
  const [ready, set] = useState(false);
  useEffect(() => {
    const look = () => set(registration?.waiting != null && navigator.serviceWorker.controller !== null);
    listeners.add(look);
    look();
    return () => {
      listeners.delete(look);
    };
  }, []);
  return ready ? () => registration?.waiting?.postMessage("switch") : undefined;
}
