import { say } from "./language";

/** The texts of the screen about this device, in English; they come with it. */
export const settingsWords = say("settings", {
  title: "This device",
  storage: "Storage",
  persisted: "The browser keeps it even when space runs short",
  notPersisted: "The browser may empty it when space runs short",
  persist: "Ask the browser to keep it",
  installed: "Installed on this device",
  notInstalled: "Runs in a browser tab",
  installHint:
    "Install it from the browser's menu (on some phones: share, then add to home screen) before the first job: a tab's work may be removed after some days without use.",
  used: (mb: string) => `${mb} MB used`,
  unsent: "Unsent work",
  save: "Save unsent work to a file",
  saved: "The file is in your downloads.",
  nothing: "Everything is sent.",
  look: "Appearance",
  ground: "Day or night",
  theme: { auto: "As the device", day: "Day", night: "Night" },
  language: "Language",
  fetching: "Loading the language …",
  away: "The language could not be fetched: a connection to the office is needed. Nothing has changed.",
  mark: "Decimal mark",
  marks: { ".": "Point: 2.5", ",": "Comma: 2,5" },
  user: "User",
  userAs: (name: string, as: string) => (as === "" ? name : `${name}, ${as}`),
  userLogin: (name: string) => `Log-in name: ${name}`,
  userHint: "Your name and function appear under your signature. An administrator can change them.",
  account: "Password, second factor, log-ins",
  loginAgain:
    "The office no longer accepts this device's log-in. What waits here is kept and goes out once you have logged in again.",
  logout: "Log out",
  logoutWaits: (n: number) =>
    `${n === 1 ? "1 entry of yours has not reached the office. It stays" : `${n} entries of yours have not reached the office. They stay`} on this device and ${n === 1 ? "goes" : "go"} out only when you log in here again, not with another person's log-in.`,
  logoutRefused:
    "The office has what it did not accept, and decides on it. After a log-out it is no longer shown on this device.",
  logoutNow: "Log out anyway",
  stay: "Stay logged in",
  version: "Version",
  refused: "Not accepted by the office",
  forked: (when: string) =>
    `A copy of this device's storage was met on ${when}: this device has gone on under a name of its own. Nothing was lost; what was unsent goes out as it was written.`,
});
