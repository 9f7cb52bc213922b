package certificates

import (
	"cmp"
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/server/german"
	"gaugewright/server/plant"
)

// The languages of papers, in ISO 639-1.
const (
	English = "en"
	German  = german.Code
)

// Languages are the languages a certificate can be in.
var Languages = []string{English, German}

// ErrLanguage is wrapped if a certificate cannot be issued in the language asked for.
var ErrLanguage = errors.New("a certificate is in English (en) or German (de)")

// LanguageOf refuses, with ErrLanguage, a code that is not one of Languages; "" stays.
func LanguageOf(code string) (string, error) {
	code = strings.ToLower(strings.TrimSpace(code))
	if code != "" && code != English && code != German {
		return "", fmt.Errorf("%w; %q is neither", ErrLanguage, code)
	}
	return code, nil
}

// tongue writes the phrases, numbers and dates of a certificate in its language.
type tongue struct{ code string } // "" is English

// Language gives other packages the wording of certificates in a language.
type Language struct{ tongue tongue }

// In returns a language by its code; "" is English.
func In(code string) Language { return Language{tongue{code}} }

// Phrase translates a phrase and puts each value in place of {}.
func (l Language) Phrase(english string, values ...string) string {
	return l.tongue.say(english, values...)
}

// Number writes a decimal number with the language's decimal mark.
func (l Language) Number(decimal string) string { return l.tongue.number(decimal) }

func (in *Input) tongue() tongue { return tongue{in.Office.Language} }

// language is the certificate's language, as DCC names it.
func (in *Input) language() string { return cmp.Or(in.Office.Language, English) }

func (t tongue) german() bool { return t.code == German }

// say translates a phrase and puts each value in place of {}. Tests check that every phrase has its
// German.
func (t tongue) say(phrase string, values ...string) string {
	return german.In(t.code, phrase, values...)
}

// word translates a word from a record, such as a verdict; an unknown one stays.
func (t tongue) word(english string) string {
	if translated, ok := german.Phrase(english); ok && t.german() {
		return translated
	}
	return english
}

// verdict writes a verdict of the calculations, such as conditional-pass, in words.
func (t tongue) verdict(code string) string { return t.word(plant.VerdictWords(code)) }

// sentence translates a sentence of the calculations; what a person wrote stays.
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

// day writes the day of a stamp; another text stays.
func (t tongue) day(stamp string) string {
	d, err := time.Parse(time.RFC3339, stamp)
	if err != nil {
		return stamp
	}
	return t.date(d)
}

// dayOnly writes a day such as 2006-01-02; another text stays.
func (t tongue) dayOnly(date string) string {
	d, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return t.date(d)
}
