package german

import (
	_ "embed"
	"encoding/json"
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

// phrases are the texts of papers, labels and forms for machines, {} in place of each value.
var phrases = sync.OnceValue(func() map[string]string {
	all := map[string]string{}
	for _, b := range [][]byte{papers, things} {
		if err := json.Unmarshal(b, &all); err != nil {
			panic(err) // it is built in, and read by every test
		}
	}
	return all
})

// Phrase gives a phrase of a paper in German, {} in place of each value, and whether it is known.
// {1} in the German stands for the first value of the English, where the order is another one.
func Phrase(english string) (german string, known bool) {
	german, known = phrases()[english]
	return german, known
}

// Phrases lists the English phrases that have their German.
func Phrases() (list []string) {
	for english := range phrases() {
		list = append(list, english)
	}
	return list
}

// In gives a phrase in a language, with its values; in English, and in one that it has not, as it is.
func In(language, english string, values ...string) string {
	if language == Code {
		if told, ok := Phrase(english); ok {
			english = told
		}
	}
	return Fill(english, values...)
}

// Fill puts values in the places of a phrase.
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

// Mark writes a decimal number with a comma, and its sign as a minus.
func Mark(number string) string {
	return strings.Replace(strings.Replace(number, "-", "−", 1), ".", ",", 1)
}

var months = [...]string{
	"Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "August", "September", "Oktober", "November",
	"Dezember",
}

// Day writes a day, such as 2. Januar 2006.
func Day(t time.Time) string {
	return strconv.Itoa(t.Day()) + ". " + months[t.Month()-1] + " " + strconv.Itoa(t.Year())
}
