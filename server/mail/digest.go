package mail

import (
	"fmt"
	"strings"
	"time"

	"gaugewright/server/office"
)

// texts are the sentences of messages in a language.
type texts struct {
	digest                                                     string // %s: the day
	waiting, failed, returned, rounds, overdue, due, standards string // %d: how many
	more                                                       string // %d
	atOnce, atOnceBody                                         string // %s: the tag; tag, serial, place, verdict
	caution                                                    string
	open, why                                                  string // %s: the address of the page
	verdicts                                                   map[string]string
	day                                                        string // how a date is written
}

var languages = map[string]texts{
	"en": {
		digest: "Instruments on %s", waiting: "Visits to review: %d",
		failed: "Failed as found since yesterday: %d", returned: "Visits returned to you: %d",
		rounds: "Your rounds today: %d", overdue: "Overdue: %d", due: "Due within 14 days: %d",
		standards: "Standards due for calibration: %d", more: "  and %d more",
		atOnce:     "Safety function failed its test: %s",
		atOnceBody: "The test of %s (serial number %s, %s) found: %s.",
		caution: "Until it is put right the function may not act when it is needed. Decide what protects " +
			"people meanwhile, by the rules of your plant. This message does not replace a call to whoever is in charge.",
		open: "Open: %s", why: "You receive this because an administrator entered your address; ask them to stop it.",
		verdicts: map[string]string{"fail": "failed", "conditional-fail": "conditional fail"}, day: "2 January 2006",
	},
	"de": {
		digest: "Geräte am %s", waiting: "Prüfungen zur Freigabe: %d",
		failed: "Seit gestern im Eingangszustand nicht bestanden: %d", returned: "An Sie zurückgegeben: %d",
		rounds: "Ihre Rundgänge heute: %d", overdue: "Überfällig: %d", due: "Fällig in 14 Tagen: %d",
		standards: "Zu kalibrierende Normale: %d", more: "  und %d weitere",
		atOnce:     "Sicherheitsfunktion hat die Prüfung nicht bestanden: %s",
		atOnceBody: "Die Prüfung von %s (Seriennummer %s, %s) ergab: %s.",
		caution: "Bis sie instand gesetzt ist, wirkt die Funktion womöglich nicht, wenn sie gebraucht wird. " +
			"Was Menschen bis dahin schützt, entscheiden Sie nach den Regeln Ihrer Anlage; diese Nachricht " +
			"ersetzt nicht den Anruf bei den Verantwortlichen.",
		open:     "Öffnen: %s",
		why:      "Sie erhalten dies, weil jemand von der Verwaltung Ihre Adresse eingetragen hat; dort lässt es sich beenden.",
		verdicts: map[string]string{"fail": "nicht bestanden", "conditional-fail": "bedingt nicht bestanden"},
		day:      "02.01.2006",
	},
}

// date writes a day in a language's form.
func (t *texts) date(day string) string {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return day
	}
	return at.Format(t.day)
}

// digest writes a digest in a language.
func digest(language string, d *office.Digest, today, base string) (subject, body string) {
	t := languages[language]
	var b strings.Builder
	list := func(title string, l *office.DigestList) {
		if l.All == 0 {
			return
		}
		fmt.Fprintf(&b, title+"\n", l.All)
		for _, r := range l.Rows {
			line := "  " + strings.Join(filled(r.Tag, r.Place, t.date(r.Date), t.verdicts[r.Verdict]), ", ")
			b.WriteString(line + "\n")
		}
		if more := l.All - len(l.Rows); more > 0 {
			fmt.Fprintf(&b, t.more+"\n", more)
		}
		b.WriteString("\n")
	}
	list(t.rounds, &d.Rounds)
	list(t.returned, &d.Returned)
	list(t.failed, &d.Failed)
	list(t.waiting, &d.Waiting)
	list(t.overdue, &d.Overdue)
	list(t.due, &d.Due)
	list(t.standards, &d.Standards)
	t.end(&b, base)
	return fmt.Sprintf(t.digest, t.date(today)), b.String()
}

// end writes the end of a message: where to go on, and why it was sent.
func (t *texts) end(b *strings.Builder, address string) {
	if address != "" {
		fmt.Fprintf(b, t.open+"\n\n", address)
	}
	b.WriteString("-- \n" + t.why + "\n")
}

func filled(list ...string) (out []string) {
	for _, s := range list {
		if s = strings.Join(strings.Fields(s), " "); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// failure writes that a safety function failed.
func failure(language string, notice *office.Notice, base string) (subject, body string) {
	t := languages[language]
	var b strings.Builder
	place := strings.Join(filled(notice.Area, notice.Place), ", ")
	fmt.Fprintf(&b, t.atOnceBody+"\n\n%s\n\n", notice.Tag, notice.Serial, place, t.verdicts[notice.AsFound], t.caution)
	if base != "" {
		base += "/office/visit/" + notice.Visit
	}
	t.end(&b, base)
	return fmt.Sprintf(t.atOnce, strings.Join(filled(notice.Tag), "")), b.String()
}
