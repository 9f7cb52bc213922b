package office

import (
	"iter"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// fit is how an instrument matches a search: not at all, with a slip, or as typed.
type fit int

const (
	noFit fit = iota
	nearFit
	sureFit
)

// The lengths from which a word may have one slip, and two.
const (
	oneSlip  = 4
	twoSlips = 8
)

// overdueWord asks for what was due before today.
const overdueWord = "overdue"

// texts are what a search looks at in an instrument.
type texts struct {
	words  string // everything that can be searched, in small letters without accents
	packed string // tag, serial, aliases and range, each without its punctuation
}

// plain returns a text in small letters without accents, with every dash as a hyphen.
func plain(text string) string {
	if ascii(text) {
		return strings.ToLower(text)
	}
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.Is(unicode.M, r):
			return -1
		case r == '\u2212' || r >= '\u2010' && r <= '\u2015':
			return '-'
		}
		return unicode.ToLower(r)
	}, norm.NFKD.String(text))
}

func ascii(text string) bool {
	for i := range len(text) {
		if text[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// packed keeps letters and digits only, so that PI-1104, PI 1104 and pi1104 are one.
func packed(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsNumber(r) {
			return r
		}
		return -1
	}, plain(text))
}

// natural returns the text by which a tag is sorted: PI-2 comes before PI-10.
func natural(text string) string {
	const width = 12
	var b strings.Builder
	s := plain(text)
	for i := 0; i < len(s); {
		j := i
		for j < len(s) && s[j] >= '0' && s[j] <= '9' {
			j++
		}
		if j > i {
			b.WriteString(strings.Repeat("0", max(0, width-(j-i))))
			b.WriteString(s[i:j])
			i = j
			continue
		}
		b.WriteByte(s[i])
		i++
	}
	return b.String()
}

// lettersOf gives the words of a text that have letters only, without the short ones.
func lettersOf(words string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for w := range strings.FieldsFuncSeq(words, func(r rune) bool { return !unicode.IsLetter(r) }) {
			if utf8.RuneCountInString(w) >= oneSlip-1 && !yield(w) {
				return
			}
		}
	}
}

// slips counts the edits that turn one word into another: a wrong, missing or extra letter, or two
// letters swapped. It stops counting beyond most.
//
// Source: the distance of Damerau (Communications of the ACM 7, 1964, 171) in the form that edits
// no part twice.
func slips(one, other string, most int) int {
	a, b := []rune(one), []rune(other)
	if len(a)-len(b) > most || len(b)-len(a) > most {
		return most + 1
	}
	var two []int
	last := make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row := make([]int, len(b)+1)
		row[0] = i
		least := i
		for j := 1; j <= len(b); j++ {
			same := 1
			if a[i-1] == b[j-1] {
				same = 0
			}
			n := min(last[j]+1, row[j-1]+1, last[j-1]+same)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				n = min(n, two[j-2]+1)
			}
			row[j] = n
			least = min(least, n)
		}
		if least > most {
			return most + 1
		}
		two, last = last, row
	}
	return last[len(b)]
}

type wanted struct {
	word, short string
	most        int             // slips allowed, 0 for none
	known       map[string]bool // words already compared with it
}

// search is a typed search, parsed once for many instruments.
type search struct {
	wanted  []wanted
	whole   string // all of it without punctuation, if it has several words
	overdue bool
}

// newSearch parses a search by the same rule as the phone's webapp/src/store/search.ts. Every word
// of it has to be in the instrument, or all of it without punctuation, as in pi1104 or 0-10bar. A
// word of letters may have a slip, or two if it is long. A word with digits may not, since another
// number is another instrument.
func newSearch(text string) *search {
	s := &search{}
	var whole strings.Builder
	for _, w := range strings.Fields(plain(text)) {
		if w == overdueWord {
			s.overdue = true
			continue
		}
		one := wanted{word: w, short: packed(w)}
		letters := strings.IndexFunc(w, func(r rune) bool { return !unicode.IsLetter(r) }) < 0
		if n := utf8.RuneCountInString(w); letters && n >= oneSlip {
			one.most, one.known = 1, map[string]bool{}
			if n >= twoSlips {
				one.most = 2
			}
		}
		whole.WriteString(one.short)
		s.wanted = append(s.wanted, one)
	}
	if len(s.wanted) > 1 {
		s.whole = whole.String()
	}
	return s
}

// empty reports whether every instrument matches.
func (s *search) empty() bool { return len(s.wanted) == 0 && !s.overdue }

// fits says how an instrument matches; late is true if it is overdue. It does not look for slips
// where enough is a match as typed.
func (s *search) fits(t *texts, late bool, enough fit) fit {
	if s.overdue && !late {
		return noFit
	}
	if s.whole != "" && strings.Contains(t.packed, s.whole) {
		return sureFit
	}
	best := sureFit
	for i := range s.wanted {
		w := &s.wanted[i]
		if strings.Contains(t.words, w.word) || w.short != "" && strings.Contains(t.packed, w.short) {
			continue
		}
		if w.most == 0 || enough == sureFit || !w.nearOne(t.words) {
			return noFit
		}
		best = nearFit
	}
	return best
}

// nearOne reports whether one of some words is the wanted one apart from slips.
func (w *wanted) nearOne(words string) bool {
	for one := range lettersOf(words) {
		if w.near(one) {
			return true
		}
	}
	return false
}

// near reports whether another word is the wanted one apart from slips.
func (w *wanted) near(other string) bool {
	close, known := w.known[other]
	if !known {
		close = slips(w.word, other, w.most) <= w.most
		w.known[other] = close
	}
	return close
}
