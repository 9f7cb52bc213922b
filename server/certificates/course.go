package certificates

import (
	"strconv"
	"strings"
	"time"

	"gaugewright/server/plant"
)

// mostSteps caps the steps that a certificate lists singly; the record has all of them.
const mostSteps = 3000

// The columns of a programme's course in millimetres; words wrap into lines.
const (
	courseNumber, courseWords, courseSaid, courseTime = 10.0, 86.0, 56.0, 18.0

	courseLine = 4.2
)

// course lists a programme's run step by step: what was to be done, what was recorded, and when;
// then the programme's decisions with their reasons.
func (s *sheet) course(title string, c *plant.Course) {
	if c == nil {
		return
	}
	s.heading(title, 20)
	s.paragraph(s.say("Each step of the programme as it was done, in its order; times in UTC."))
	s.courseHead()
	for i := range c.Steps {
		if i == mostSteps {
			s.paragraph(s.say("{} further steps stand in the record.", count(len(c.Steps)-mostSteps)))
			break
		}
		one := &c.Steps[i]
		s.courseRow([4]string{strconv.Itoa(i + 1), s.stepWords(one), s.stepSaid(one), clock(one.At)})
	}
	if c.Fault != "" {
		s.paragraph(s.say("The run could not be followed along its programme: {}", s.sentence(c.Fault)))
	}
	if c.Stop != "" {
		s.paragraph(s.say("It ended before its last line: {}", s.sentence(c.Stop)))
	}
	if len(c.Branches) > 0 {
		s.pdf.SetY(s.pdf.GetY() + 1)
		s.paragraph(s.say("Decisions of the programme:"))
		for _, b := range c.Branches {
			s.paragraph(s.say("line {} of the programme, {}: {}", count(b.Line), s.word(branchWords[b.Taken]), s.sentence(b.Reason)))
		}
	}
	for _, f := range c.Flags {
		s.paragraph(s.say("Step {}: {}", numberOf(c, f.Step), s.sentence(f.Message)))
	}
}

// branchWords are the branches of a decision in words.
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
	s.cell(courseNumber, courseLine, s.say("no."), "B", 0, "R")
	s.cell(courseWords, courseLine, s.say("step"), "B", 0, "L")
	s.cell(courseSaid, courseLine, s.say("recorded"), "B", 0, "L")
	s.cell(courseTime, courseLine, s.say("time"), "B", 1, "L")
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
func (t tongue) stepWords(c *plant.CourseStep) string {
	target := t.typed(c.Target) + " " + c.Unit
	if c.Mode == "absolute" {
		target += t.say(" absolute")
	}
	words := ""
	switch c.Do {
	case "set":
		switch c.Move {
		case "raise":
			words = t.say("raise to {}", target)
		case "lower":
			words = t.say("lower to {}", target)
		case "stay":
			words = t.say("stay at {}", target)
		default:
			words = t.say("set {}", target)
		}
	case "ramp":
		words = t.say("ramp to {}", target)
	case "hold":
		words = t.say("hold for {}", t.seconds(c.Seconds))
	case "settle":
		words = t.say("wait for rest within {} {} for {}", t.typed(c.Within), c.Unit, t.seconds(c.Seconds))
		if c.AtMost > 0 {
			words += t.say(", at most {}", t.seconds(c.AtMost))
		}
	case "read":
		words = t.say("read {}", t.sentence(c.Text))
	case "ask":
		words = t.say("question: {}", c.Text)
	case "note":
		words = t.say("note: {}", c.Text)
	case "exercise":
		words = t.say("go to {} and back, {}", target, t.times(c.Count))
	case "vent":
		words = t.say("vent")
	default:
		words = joined(" ", c.Do, c.Text)
	}
	if c.Rate != "" {
		words += t.say(", at {} {} a second", t.typed(c.Rate), c.Unit)
	}
	if c.Until != "" {
		words += t.say(", until {}", c.Until)
	}
	if c.Cycles > 1 {
		words += t.say(" (cycle {} of {})", count(c.Cycle), count(c.Cycles))
	}
	return words
}

// stepSaid says what was recorded for a step: every value, every answer, and how long a wait took.
func (t tongue) stepSaid(c *plant.CourseStep) string {
	var list []string
	for _, one := range c.Captures {
		switch one.Of {
		case "answer":
			list = append(list, t.answer(string(one.Value))+prefixed(" ", one.Unit))
		case "trace":
			list = append(list, t.traceWords(&one))
		case "before_tap":
			list = append(list, t.say("{} {} before tapping", t.typed(one.Value), one.Unit))
		default:
			list = append(list, t.typed(one.Value)+" "+one.Unit)
		}
	}
	said := strings.Join(list, "; ")
	switch c.Do {
	case "hold":
		if waited, ok := between(c.Begun, c.At); ok {
			said = t.say("held for {}", t.seconds(waited))
		} else if c.Done {
			said = t.say("held")
		}
	case "settle":
		end := ""
		switch {
		case c.Settled:
			end = t.say("came to rest")
		case c.Over:
			end = t.say("did not come to rest")
		}
		said = joined("; ", said, end)
	case "note":
		if c.Done {
			said = t.say("read")
		}
	}
	switch {
	case said != "":
		return said
	case c.Done && (c.Do == "read" || c.Do == "ask"):
		return t.say("left out")
	case c.Done:
		return t.say("done")
	}
	return t.say("not done")
}

// answer formats an answer: a number or yes or no; other words stay as a person wrote them.
func (t tongue) answer(value string) string {
	if isNumber(value) {
		return t.number(value)
	}
	return t.word(value)
}

func (t tongue) traceWords(c *plant.Capture) string {
	if c.File == nil {
		return t.say("a logger's record")
	}
	return t.say("a logger's record, {}, {} rows", c.File.Name, count(int(c.File.Rows)))
}

func (t tongue) times(n int) string {
	if n == 1 {
		return t.say("once")
	}
	return t.say("{} times", count(n))
}

// seconds writes a time in s, or in min and s from two minutes on.
func (t tongue) seconds(s float64) string {
	const long = 120
	if s < long || s != float64(int64(s)) {
		return t.number(strconv.FormatFloat(s, 'f', -1, 64)) + " s"
	}
	text := strconv.FormatInt(int64(s)/60, 10) + " min"
	if rest := int64(s) % 60; rest > 0 {
		text += " " + strconv.FormatInt(rest, 10) + " s"
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

// clock formats the time of day of a moment in UTC.
func clock(moment string) string {
	t, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		return ""
	}
	return t.UTC().Format(time.TimeOnly)
}
