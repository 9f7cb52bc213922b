package certificates

import (
	"cmp"
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/server/german"
)

// The languages of papers, in ISO 639-1.
const (
	English = "en"
	German  = german.Code
)

// Languages are those that a paper can be in.
var Languages = []string{English, German}

// ErrLanguage is wrapped where a paper is asked for in a language that it cannot be in.
var ErrLanguage = errors.New("a certificate is in English (en) or German (de)")

// LanguageOf refuses, with ErrLanguage, what is none of Languages; "" stays.
func LanguageOf(code string) (string, error) {
	code = strings.ToLower(strings.TrimSpace(code))
	if code != "" && code != English && code != German {
		return "", fmt.Errorf("%w; %q is neither", ErrLanguage, code)
	}
	return code, nil
}

// tongue writes the phrases, numbers and days of a paper in its language.
type tongue struct{ code string } // "" is English

// Language says to others what a certificate in it says.
type Language struct{ tongue tongue }

// In returns a language by its code; "" is English.
func In(code string) Language { return Language{tongue{code}} }

// Phrase gives a phrase with its values, {} in place of each.
func (l Language) Phrase(english string, values ...string) string {
	return l.tongue.say(english, values...)
}

// Number writes a decimal number with the language's mark.
func (l Language) Number(decimal string) string { return l.tongue.number(decimal) }

func (in *Input) tongue() tongue { return tongue{in.Office.Language} }

// language is the paper's, as DCC names it.
func (in *Input) language() string { return cmp.Or(in.Office.Language, English) }

func (t tongue) german() bool { return t.code == German }

// say gives a phrase of the paper with its values, {} in place of each. Tests hold every phrase to
// the German ones.
func (t tongue) say(phrase string, values ...string) string {
	return german.In(t.code, phrase, values...)
}

// word gives a word that a record holds, such as a verdict; one that is not known stays.
func (t tongue) word(english string) string {
	if told, ok := german.Phrase(english); ok && t.german() {
		return told
	}
	return english
}

// sentence gives a sentence of the calculations; what somebody wrote stays.
func (t tongue) sentence(text string) string {
	if t.german() {
		return german.Sentence(text)
	}
	return text
}

// number writes a figure with the language's decimal mark.
func (t tongue) number(figure string) string {
	if t.german() {
		return strings.ReplaceAll(figure, ".", ",")
	}
	return figure
}

func (t tongue) date(d time.Time) string {
	if t.german() {
		return german.Day(d)
	}
	return d.Format("2 January 2006")
}

// day writes the day of a stamp; what is none stays.
func (t tongue) day(stamp string) string {
	d, err := time.Parse(time.RFC3339, stamp)
	if err != nil {
		return stamp
	}
	return t.date(d)
}

// dayOnly writes a day such as 2006-01-02; what is none stays.
func (t tongue) dayOnly(date string) string {
	d, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return t.date(d)
}
