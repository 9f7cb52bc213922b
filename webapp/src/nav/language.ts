import type { Language } from "../words/language";
import { language } from "../words/language";
import { choose } from "./choices";

/** languages are those that can be chosen, each by its own name. */
export const languages: readonly (readonly [Language, string])[] = [
  ["en", "English"],
  ["de", "Deutsch"],
];

/** How long the service worker may take to fetch a language over a weak line. */
const longest = 30_000;

/** tell tells the present and future service workers which language to keep. */
async function tell(l: string): Promise<void> {
  await (await caches.open("choices")).put("/language", new Response(l));
}

/** keepLanguage makes sure that this device's language is kept, as after a first visit. */
export async function keepLanguage(l: Language): Promise<void> {
  await tell(l);
  navigator.serviceWorker.controller?.postMessage("language");
}

/** kept asks the service worker to keep the chosen language; true if there is no worker yet. */
function kept(): Promise<boolean> {
  const worker = navigator.serviceWorker?.controller;
  if (!worker) return Promise.resolve(true);
  return new Promise((done) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = (e) => done(e.data === true);
    setTimeout(() => done(false), longest);
    worker.postMessage("language", [port2]);
  });
}

/**
 * chooseLanguage switches the page to another language, once it is kept for work without a
 * connection.
 *
 * Gives: false if its script could not be fetched; nothing has changed then.
 */
export async function chooseLanguage(l: Language): Promise<boolean> {
  await tell(l);
  if (!(await kept())) {
    await tell(language);
    return false;
  }
  choose("language", l);
  location.reload();
  return true;
}
