package certificates

import (
	"slices"
	"strings"
	"time"

	"gaugewright/calc/units"
	"gaugewright/server/german"
)

// lines breaks a text into lines of a width, with the letters of the typeface. A number stays with its
// unit, a date whole, and a sign between two numbers with both.
func (s *sheet) lines(text string, width float64) (list []string) {
	text = shown(text)
	for again := true; again; {
		again = false
		split := s.pdf.SplitText(text, width)
		for i, line := range split {
			if i < len(split)-1 {
				if at := loosened(line, text[len(line):]); at > 0 {
					list, text, again = append(list, line[:at]), text[at+1:], true
					break
				}
			}
			list, text = append(list, line), strings.TrimPrefix(text[len(line):], " ")
		}
	}
	return list
}

// loosened returns how much of a line stays on it if what belongs together goes over to the next one,
// or 0 if nothing does or nothing would stay.
func loosened(line, rest string) int {
	if !strings.HasPrefix(rest, " ") { // a word longer than a line
		return 0
	}
	next, _, _ := strings.Cut(rest[1:], " ")
	at := len(line)
	for {
		before := strings.LastIndexByte(line[:at], ' ')
		last := line[before+1 : at]
		switch {
		case !glued(last, next) && at < len(line):
			return at
		case !glued(last, next) || before <= 0:
			return 0
		}
		at, next = before, last
	}
}

// glued reports whether no line ends between two words.
func glued(a, b string) bool {
	if isSign(a) || isSign(b) {
		return true
	}
	a, b = strings.TrimLeft(a, "(±≤≥"), strings.TrimRight(b, ".,;:)")
	return isNumber(a) && (isUnit(b) || isMonth(b)) || isMonth(a) && len(b) == len("2006") && isNumber(b)
}

func isSign(word string) bool { return slices.Contains([]string{"=", "±", "…", "×"}, word) }

func isMonth(word string) bool {
	_, err := time.Parse("January", word)
	return err == nil || german.IsMonth(word)
}

// isUnit reports whether a word is a unit of pressure or another that papers have.
func isUnit(word string) bool {
	_, known := units.Find(word)
	return known || slices.Contains(strings.Fields("% °C V mA m m³ s min ft ft/min kt"), word)
}
