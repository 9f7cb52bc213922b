package german

import (
	_ "embed"
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"
)

//go:embed sentences.json
var sentencesFile []byte

// home is the content of sentences.json: sentences with their German in the order of the client's
// tables, and words that stand for a value in a sentence.
type home struct {
	Sentences [][2]string
	Words     map[string]string
}

// pattern is a sentence with places for values, against which texts are matched.
type pattern struct {
	literal int    // letters outside the values
	has     string // the longest of its parts
	test    *regexp.Regexp
	german  string
}

type table struct {
	known    map[string]string
	words    map[string]string
	patterns []pattern // the most specific first
}

var sentences = sync.OnceValue(func() *table {
	var h home
	if err := json.Unmarshal(sentencesFile, &h); err != nil {
		panic(err) // built in, and read by every test
	}
	t := &table{known: map[string]string{}, words: h.Words}
	for _, s := range h.Sentences {
		t.known[s[0]] = s[1]
		if parts := strings.Split(s[0], "{}"); len(parts) > 1 {
			p := pattern{german: s[1]}
			for i, part := range parts {
				p.literal += utf8.RuneCountInString(part)
				if utf8.RuneCountInString(part) > utf8.RuneCountInString(p.has) {
					p.has = part
				}
				parts[i] = regexp.QuoteMeta(part)
			}
			p.test = regexp.MustCompile(`(?s)^` + strings.Join(parts, "(.*?)") + `$`)
			t.patterns = append(t.patterns, p)
		}
	}
	slices.SortStableFunc(t.patterns, func(a, b pattern) int { return b.literal - a.literal })
	return t
})

// Sentence translates a text of the calculations into German, as the client does (its
// words/de/say.ts). It splits a text of several sentences. What it does not know, such as a name or
// a question that a person wrote, stays.
func Sentence(text string) string {
	t := sentences()
	if all, ok := t.whole(text); ok {
		return all
	}
	for joint := range joints {
		for at := 0; at < len(text); {
			from, end := joints[joint](text[at:])
			if from < 0 {
				break
			}
			from, end = from+at, end+at
			keep := from
			if text[from:end] == ". " {
				keep++
			}
			first, rest := text[:keep], text[end:]
			translated, ok := t.whole(first)
			if !ok && (text[from:end] == ": " || text[from:end] == ", ") {
				if _, follows := t.whole(rest); follows {
					translated, ok = first, true
				}
			}
			if ok {
				return translated + text[keep:end] + Sentence(rest)
			}
			at = end
		}
	}
	if formula.MatchString(text) {
		return decimal.ReplaceAllString(text, "$1,$2")
	}
	return text
}

// formula matches a condition of a programme, or its outcome: names, numbers and signs between
// them.
var formula = regexp.MustCompile(`^[\w .+*/()<>=,-]* [-+*/<>=]+ [\w .+*/()<>=,-]*$|^abs\(`)

var decimal = regexp.MustCompile(`(\d)\.(\d)`)

// joints find where one sentence ends and another begins in a text of several, the strongest first.
var joints = []func(text string) (from, end int){
	func(text string) (int, int) {
		stop, line := strings.Index(text, ". "), strings.IndexByte(text, '\n')
		if line >= 0 && (stop < 0 || line < stop) {
			return line, line + 1
		}
		return stop, stop + 2
	},
	of("; "), of(": "),
	func(text string) (int, int) { // a comma not followed by a digit
		for at := 0; ; {
			i := strings.Index(text[at:], ", ")
			if i < 0 {
				return -1, 0
			}
			if at += i + 2; at < len(text) && (text[at] < '0' || text[at] > '9') {
				return at - 2, at
			}
		}
	},
}

func of(mark string) func(string) (int, int) {
	return func(text string) (int, int) {
		at := strings.Index(text, mark)
		return at, at + len(mark)
	}
}

// whole translates a text that is one sentence, with or without values.
func (t *table) whole(text string) (string, bool) {
	if german, ok := t.known[text]; ok {
		return german, true
	}
	return t.matched(text)
}

// telling is how many letters outside its values a pattern needs so that it fits no other text by
// chance.
const telling = 14

// figure matches a text that starts with a number, or a formula such as a programme's condition.
var figure = regexp.MustCompile(
	`^[-−+]?\d|^[\w .+*/()<>=,-]* [-+*/=] [\w .+*/()<>=,-]*$|^abs\(`,
)

// quoted is a name in quotes, such as that of a column.
var quoted = regexp.MustCompile(`^"[^"]*"$`)

// matched gives a sentence by the pattern that says the most of it.
func (t *table) matched(text string) (string, bool) {
next:
	for i := range t.patterns {
		p := &t.patterns[i]
		if !strings.Contains(text, p.has) {
			continue
		}
		found := p.test.FindStringSubmatch(text)
		if found == nil {
			continue
		}
		values := found[1:]
		for k, v := range values {
			if strings.Contains(v, ". ") || strings.Contains(v, "\n") {
				continue next
			}
			// A value of several words is the name at the start of the sentence, or a sentence
			// itself.
			if p.literal < telling && strings.Contains(v, " ") && (k != 0 || !strings.HasPrefix(p.german, "{}: ")) &&
				!figure.MatchString(v) && !quoted.MatchString(v) {
				if _, ok := t.whole(v); !ok {
					continue next
				}
			}
		}
		translated := make([]string, len(values))
		for k, v := range values {
			translated[k] = t.value(v)
		}
		return Fill(p.german, translated...), true
	}
	return "", false
}

var amount = regexp.MustCompile(`^([-−+]?\d+(?:\.\d+)?)( ?\S{1,12})?$`)

// value translates a value in a sentence: a number, a word or a sentence.
func (t *table) value(text string) string {
	if n := amount.FindStringSubmatch(text); n != nil {
		return Mark(n[1]) + n[2]
	}
	if word, ok := t.words[text]; ok {
		return word
	}
	return Sentence(text)
}
