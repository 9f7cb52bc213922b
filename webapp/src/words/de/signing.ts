import type { signingWords } from "../signing";

/** The texts about keys for signing, in German. */
export const signing: typeof signingWords = {
  title: "Schlüssel",
  hint: "Jedes Gerät unterschreibt mit einem eigenen Schlüssel für jede Person darauf. Ein entzogener Schlüssel unterschreibt nichts mehr, das gilt; was er vorher unterschrieben hat, gilt weiter.",
  people: "Schlüssel der Personen",
  laboratory: "Schlüssel des Labors",
  laboratoryHint:
    "Der gültige Schlüssel unterschreibt Kalibrierscheine und die Entscheidungen des Büros. Auf dem Server wird er ersetzt mit: gaugewright keys --data DIR --new. Der vorige bürgt für den nächsten und bleibt hier, denn was er unterschrieben hat, gilt.",
  heads: "Schlüssel der Stände des Journals",
  none: "Noch kein Schlüssel: ein Gerät macht ihn bei seiner ersten Unterschrift.",
  own: "Die eigenen Schlüssel",
  ownHint:
    "Ein Gerät macht seinen Schlüssel bei der ersten Unterschrift darauf. Der Schlüssel eines Geräts, das nicht mehr da ist, gehört entzogen.",
  states: {
    good: "gut, in Gebrauch",
    unconfirmed: "in Gebrauch, noch nicht bestätigt, wem er gehört",
    withdrawn: "entzogen",
    lost: "verloren",
    replaced: "durch den nächsten ersetzt",
  },
  here: "dieses Gerät",
  office: "Labor",
  device: (id: string) => `Gerät ${id.slice(0, 6)}`,
  made: (when: string) => `gemacht ${when}`,
  used: (when: string, n: number) =>
    `zuletzt unterschrieben ${when}, ${n === 1 ? "1 Unterschrift" : `${n} Unterschriften`}`,
  unused: "hat noch nichts unterschrieben",
  ended: (when: string, why: string) => `seit ${when}: ${why}`,
  print: "Fingerabdruck",
  withdraw: "Diesen Schlüssel entziehen",
  withdrawOf: (print: string) => `Diesen Schlüssel entziehen: ${print}`,
  what: "Warum",
  kinds: { withdrawn: "Nicht mehr gebraucht", lost: "Verloren oder gestohlen: jemand anders kann ihn haben" },
  reason: "Grund",
  lostHint: "Auch die Anmeldungen dieses Geräts beenden.",
  sure: "Er kann nicht zurückgegeben werden. Das Gerät macht bei seiner nächsten Unterschrift einen anderen.",
  now: "Jetzt entziehen",
  leave: "So lassen",
  confirm: "Er gehört dieser Person",
  confirmHint: "Er kam über eine Zwischenstation. Die Person fragen, ob das Gerät ihres ist.",
};
