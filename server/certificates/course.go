package certificates

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/plant"
)

// mostSteps caps the steps that a paper lists one by one; the record has all of them.
const mostSteps = 3000

// The columns of a programme's course in millimetres; the words break into lines.
const (
	courseNumber, courseWords, courseSaid, courseTime = 10.0, 86.0, 56.0, 18.0

	courseLine = 4.2
)

// course lists a programme's run step by step: what was to be done, what was recorded of it, and
// when; then the decisions of the programme with their reasons.
func (s *sheet) course(title string, c *plant.Course) {
	if c == nil {
		return
	}
	s.heading(title, 20)
	s.paragraph("Each step of the programme as it was done, in its order; times in UTC.")
	s.courseHead()
	for i := range c.Steps {
		if i == mostSteps {
			s.paragraph(fmt.Sprintf("%d further steps stand in the record.", len(c.Steps)-mostSteps))
			break
		}
		one := &c.Steps[i]
		s.courseRow([4]string{strconv.Itoa(i + 1), stepWords(one), stepSaid(one), clock(one.At)})
	}
	if c.Fault != "" {
		s.paragraph("The run could not be followed along its programme: " + c.Fault)
	}
	if c.Stop != "" {
		s.paragraph("It ended before its last line: " + c.Stop)
	}
	if len(c.Branches) > 0 {
		s.pdf.SetY(s.pdf.GetY() + 1)
		s.paragraph("Decisions of the programme:")
		for _, b := range c.Branches {
			s.paragraph(fmt.Sprintf("line %d, %s: %s", b.Line, branchWords[b.Taken], b.Reason))
		}
	}
	for _, f := range c.Flags {
		s.paragraph("Step " + numberOf(c, f.Step) + ": " + f.Message)
	}
}

// branchWords are the ways that a decision leads to.
var branchWords = map[string]string{
	"then": "the condition holds", "else": "the condition does not hold", "on": "the condition holds",
	"again": "once more", "met": "the condition is met",
}

func numberOf(c *plant.Course, id string) string {
	for i := range c.Steps {
		if c.Steps[i].ID == id {
			return strconv.Itoa(i + 1)
		}
	}
	return id
}

func (s *sheet) courseHead() {
	s.pdf.SetY(s.pdf.GetY() + 1)
	s.pdf.SetFont("go", "B", small)
	s.pdf.SetX(s.left)
	s.cell(courseNumber, courseLine, "no.", "B", 0, "R")
	s.cell(courseWords, courseLine, "step", "B", 0, "L")
	s.cell(courseSaid, courseLine, "recorded", "B", 0, "L")
	s.cell(courseTime, courseLine, "time", "B", 1, "L")
}

func (s *sheet) courseRow(cells [4]string) {
	s.pdf.SetFont("go", "", small)
	words := s.lines(cells[1], courseWords-2)
	said := s.lines(cells[2], courseSaid-2)
	n := max(len(words), len(said), 1)
	at := func(list []string, i int) string {
		if i < len(list) {
			return list[i]
		}
		return ""
	}
	for i := range n {
		if i == 0 && s.room(courseLine*float64(min(n, 8))) || s.room(courseLine) {
			s.courseHead()
			s.pdf.SetFont("go", "", small)
		}
		number, when := "", ""
		if i == 0 {
			number, when = cells[0], cells[3]
		}
		s.pdf.SetX(s.left)
		s.pdf.CellFormat(courseNumber, courseLine, number, "", 0, "R", false, 0, "")
		s.pdf.CellFormat(courseWords, courseLine, at(words, i), "", 0, "L", false, 0, "")
		s.pdf.CellFormat(courseSaid, courseLine, at(said, i), "", 0, "L", false, 0, "")
		s.pdf.CellFormat(courseTime, courseLine, when, "", 1, "L", false, 0, "")
	}
	s.pdf.SetY(s.pdf.GetY() + 0.4)
}

// stepWords says what a step asks for.
func stepWords(c *plant.CourseStep) string {
	target := minus(c.Target) + " " + c.Unit
	if c.Mode == "absolute" {
		target += " absolute"
	}
	words := ""
	switch c.Do {
	case "set":
		words = map[string]string{"raise": "raise to ", "lower": "lower to ", "stay": "stay at "}[c.Move]
		words = fallback(words, "set ") + target
	case "ramp":
		words = "ramp to " + target
	case "hold":
		words = "hold for " + seconds(c.Seconds)
	case "settle":
		words = "wait for rest within " + string(c.Within) + " " + c.Unit + " for " + seconds(c.Seconds)
		if c.AtMost > 0 {
			words += ", at most " + seconds(c.AtMost)
		}
	case "read":
		words = "read " + c.Text
	case "ask":
		words = "question: " + c.Text
	case "note":
		words = "note: " + c.Text
	case "exercise":
		words = "go to " + target + " and back, " + times(c.Count)
	case "vent":
		words = "vent"
	default:
		words = joined(" ", c.Do, c.Text)
	}
	if c.Rate != "" {
		words += ", at " + string(c.Rate) + " " + c.Unit + " a second"
	}
	if c.Until != "" {
		words += ", until " + c.Until
	}
	if c.Cycles > 1 {
		words += fmt.Sprintf(" (cycle %d of %d)", c.Cycle, c.Cycles)
	}
	return words
}

// stepSaid says what was recorded of a step: every value, every answer, how long a wait was.
func stepSaid(c *plant.CourseStep) string {
	var list []string
	for _, one := range c.Captures {
		switch one.Of {
		case "answer":
			list = append(list, string(one.Value)+prefixed(" ", one.Unit))
		case "trace":
			list = append(list, traceWords(&one))
		case "before_tap":
			list = append(list, minus(one.Value)+" "+one.Unit+" before tapping")
		default:
			list = append(list, minus(one.Value)+" "+one.Unit)
		}
	}
	said := strings.Join(list, "; ")
	switch c.Do {
	case "hold":
		if waited, ok := between(c.Begun, c.At); ok {
			said = "held for " + seconds(waited)
		} else if c.Done {
			said = "held"
		}
	case "settle":
		end := ""
		switch {
		case c.Settled:
			end = "came to rest"
		case c.Over:
			end = "did not come to rest"
		}
		said = joined("; ", said, end)
	case "note":
		if c.Done {
			said = "read"
		}
	}
	switch {
	case said != "":
		return said
	case c.Done && (c.Do == "read" || c.Do == "ask"):
		return "left out"
	case c.Done:
		return "done"
	}
	return "not done"
}

func traceWords(c *plant.Capture) string {
	if c.File == nil {
		return "a logger's record"
	}
	return fmt.Sprintf("a logger's record, %s, %d rows", c.File.Name, c.File.Rows)
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// seconds writes a time in s, from two minutes on in min and s.
func seconds(s float64) string {
	const long = 120
	if s < long || s != float64(int64(s)) {
		return strconv.FormatFloat(s, 'f', -1, 64) + " s"
	}
	text := fmt.Sprintf("%d min", int64(s)/60)
	if rest := int64(s) % 60; rest > 0 {
		text += fmt.Sprintf(" %d s", rest)
	}
	return text
}

// between returns the time from one moment to another in whole seconds.
func between(begun, at string) (float64, bool) {
	from, err := time.Parse(time.RFC3339, begun)
	until, err2 := time.Parse(time.RFC3339, at)
	if err != nil || err2 != nil || until.Before(from) {
		return 0, false
	}
	return until.Sub(from).Round(time.Second).Seconds(), true
}

// clock writes the time of day of a moment in UTC.
func clock(moment string) string {
	t, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		return ""
	}
	return t.UTC().Format(time.TimeOnly)
}
