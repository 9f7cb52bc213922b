package german

import (
	_ "embed"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Code is the language in ISO 639-1.
const Code = "de"

//go:embed papers.json
var papers []byte

//go:embed things.json
var things []byte

//go:embed reports.json
var reports []byte

// phrases are the texts of papers, labels, reports and machine-readable forms, with {} for each
// value.
var phrases = sync.OnceValue(func() map[string]string {
	all := map[string]string{}
	for _, b := range [][]byte{papers, things, reports} {
		if err := json.Unmarshal(b, &all); err != nil {
			panic(err) // built in, and read by every test
		}
	}
	return all
})

// Phrase returns the German of a phrase, with {} for each value, and whether it is known. In the
// German {1} is the first value of the English if the order differs.
func Phrase(english string) (german string, known bool) {
	german, known = phrases()[english]
	return german, known
}

// Translate gives a word of the program or a sentence of the calculations in German; what it does not
// know stays, as what somebody wrote.
func Translate(text string) string {
	if translated, ok := Phrase(text); ok && !strings.Contains(text, "{") {
		return translated
	}
	return Sentence(text)
}

// In gives a phrase in a language, with its values; in English, and in one that it has not, as it is.
func In(language, english string, values ...string) string {
	if language == Code {
		if translated, ok := Phrase(english); ok {
			english = translated
		}
	}
	return Fill(english, values...)
}

// Fill puts values into the places of a phrase.
func Fill(phrase string, values ...string) string {
	var b strings.Builder
	for n := 0; ; {
		at := strings.IndexByte(phrase, '{')
		if at < 0 {
			return b.String() + phrase
		}
		end := at + strings.IndexByte(phrase[at:], '}')
		if end < at {
			return b.String() + phrase
		}
		i, err := strconv.Atoi(phrase[at+1 : end])
		if i--; err != nil {
			i = n
			n++
		}
		b.WriteString(phrase[:at])
		if i >= 0 && i < len(values) {
			b.WriteString(values[i])
		}
		phrase = phrase[end+1:]
	}
}

// Mark writes a decimal number with a decimal comma and a minus sign.
func Mark(number string) string {
	return strings.Replace(strings.Replace(number, "-", "−", 1), ".", ",", 1)
}

var months = [...]string{
	"Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "August", "September", "Oktober", "November",
	"Dezember",
}

// IsMonth reports whether a word is the name of a month.
func IsMonth(word string) bool { return slices.Contains(months[:], word) }

// Day writes a day in the form 2. Januar 2006.
func Day(t time.Time) string {
	return strconv.Itoa(t.Day()) + ". " + months[t.Month()-1] + " " + strconv.Itoa(t.Year())
}
