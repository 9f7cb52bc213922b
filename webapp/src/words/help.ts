import { say } from "./language";

/** Page is one page of help: what a screen is for, and how it is used. */
type Page = { title: string; about: string; points: string[] };

const pages: { [page: string]: Page } = {
  day: {
    title: "A first day",
    about: "A walk through the invented plant, in ten minutes. Nothing in it is real: type what you like.",
    points: [
      "Log in as a technician. The names and passwords are where the program was started.",
      "Round shows today's stops. Open the first one, a gauge.",
      "Look at its history: the errors of the last years beside its limit.",
      "Press “Start visit”. Read the cautions and tick them.",
      "Compare tag and serial number, and say what condition the instrument is in.",
      "One screen says what will be used. Type the air temperature, change what is different, press “Begin”.",
      "Each screen asks for one thing. Set the pressure that it names, type what the gauge shows, press “Keep”.",
      "Look at the table before you close the run. The result says pass, fail or undecided, and why.",
      "Sign with your finger. The next stop is one tap away.",
      "Switch the network off and do another one. It is sent as soon as there is a connection.",
      "Log in as the reviewer on another device: the visit waits in the office, to be approved or sent back.",
    ],
  },
  round: {
    title: "The round",
    about: "What is to be done today, in the order that the office planned.",
    points: [
      "Work under pressure or in progress is at the top: resume it first.",
      "A sign in a frame names a hazard: oxygen, toxic, hot, pressurised gas, flight safety.",
      "“Bring” lists standards, fittings and media for the whole day.",
      "A stop says how far its work has come: on this phone, sent, seen, approved, or sent back and why.",
      "The day has a summary, for the shift that follows.",
    ],
  },
  find: {
    title: "Finding an instrument",
    about: "By tag, serial number, words or place. It works offline.",
    points: [
      "Hyphens and capitals do not matter, and a slip of a letter is forgiven.",
      "A range finds instruments too, such as 16 bar; so do a kind, and “overdue”.",
      "“Scan a tag” reads the code on a label with the camera. Where a label is missing, the office prints another.",
    ],
  },
  instrument: {
    title: "An instrument",
    about: "What it is, what it has done for years, and the start of a visit.",
    points: [
      "The chart shows its worst error at each visit beside its limit. A tap on a visit opens it.",
      "“Start visit” begins the work. One that is out of service says so, and no visit begins.",
      "Several gauges on one manifold are read one after the other, at each pressure that is set once.",
      "“By another method” begins a visit by a method other than the one set, with a reason.",
      "Write to the office about it under “Messages”.",
    ],
  },
  visit: {
    title: "A visit",
    about:
      "From the cautions to the signature. Everything is kept as you press; you can leave at any time and go on later.",
    points: [
      "A “no” to a safety question stops the work: make it safe as the screen says, then choose how to go on.",
      "“How to connect” draws what is connected to what, before the first pressure.",
      "Each step names its figure: where to, in which unit, gauge or absolute, how fast, what must not be exceeded.",
      "The band shows your value inside its limits before you keep it. The screen asks about a value that looks wrong: check it, then keep or correct it.",
      "“=” takes the pressure that was set; the keys with + and − move by the last digit that can be read.",
      "“Readings” lists what was kept. Tap a value to correct it; the first one stays on record with your reason.",
      "“More” has the rest: correct the last value, repeat the run, end it early, the tone.",
      "After a fail say what happens: adjust, replace, take out of service, or leave in service by somebody's decision.",
      "The signature covers everything that you see. A later change makes it invalid.",
    ],
  },
  device: {
    title: "This device",
    about: "Unsent work, the appearance of the screen, and who is logged in.",
    points: [
      "What you record is kept on this device at once and sent to the office as soon as there is a connection.",
      "Install the program on the home screen and allow it to keep its storage. Browsers clear storage that is seldom used.",
      "“Save unsent work to a file” keeps a copy outside the browser in case the device fails.",
      "Log out on a shared device. Unsent work waits for its author's log-in; everything else is removed and comes again.",
      "Day, night, language and the decimal mark are chosen here.",
    ],
  },
  office: {
    title: "The office",
    about: "Reviews the day's work, keeps the register and plans the rounds.",
    points: [
      "“To review” lists the visits to check, failures first. Open a visit, read its warnings, then approve it or send it back with a few words.",
      "An approval issues the certificate. A correction afterwards makes another one that replaces it.",
      "The register filters, sorts and changes many instruments at once; each change is shown before it is made.",
      "“Import a list” takes a sheet as it is. “Export everything” saves all records as files.",
      "If a standard was out of tolerance: open it, choose since when, and see which results change.",
      "“Conflicts” shows fields that two people changed without seeing each other's change. Choose one; both stay on record.",
    ],
  },
};

/** The texts of the help, in English. */
export const helpWords = say("help", {
  title: "Help",
  all: "All of the help",
  caution: "It does not replace a procedure, permit or training. Local codes and the maintenance manual come first.",
  pages,
});
