package certificates

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"gaugewright/server/plant"
)

// figureColumns are those of the results of every kind of work but the gauge's.
var figureColumns = []struct {
	head  string
	width float64
	align string
}{{"figure", 70, "L"}, {"value", 27, "R"}, {"limit", 27, "R"}, {"U", 14, "R"}, {"source", 15, "R"}, {"verdict", 17, "R"}}

// figures lists the results of a run: each figure with what it is held against, the number of the line below that says where the limit comes from, and its verdict.
func (s *sheet) figures(title string, run *plant.Run) {
	s.heading(title, 30)
	if run.Stopped != "" {
		s.paragraph("The run ended early: " + run.Stopped)
	}
	s.airFacts(run)
	own := systemsOf(run)
	s.systemFacts(&own)
	s.figureHead()
	var sources []string
	for i := range run.Finding.Results {
		f := &run.Finding.Results[i]
		if s.room(5) {
			s.figureHead()
		}
		number := ""
		if f.Source != "" {
			at := slices.Index(sources, f.Source)
			if at < 0 {
				at = len(sources)
				sources = append(sources, f.Source)
			}
			number = strconv.Itoa(at + 1)
		}
		value, limit := figure(s.rounded(f))+" "+f.Unit, bounds(f.LimitLow, f.LimitHigh)
		if f.Condition != "" {
			value, limit = f.Condition, ""
		}
		s.figureRow([]string{f.Name, value, limit, two(f.Expanded), number, f.Verdict}, "")
		if f.Reason != "" {
			s.paragraph(f.Name + ": " + f.Reason)
		}
	}
	if len(sources) > 0 {
		s.pdf.SetY(s.pdf.GetY() + 1)
		s.paragraph("Where the limits come from:")
		for i, text := range sources {
			s.paragraph(strconv.Itoa(i+1) + "  " + text)
		}
	}
	s.systemCharts(&own)
	if n := run.Finding.DueMonths; n > 0 {
		s.paragraph("Next after " + strconv.Itoa(n) + " calendar months, unless the regulation that holds for the item says otherwise.")
	}
}

func (s *sheet) figureHead() {
	s.pdf.SetY(s.pdf.GetY() + 1)
	heads := make([]string, len(figureColumns))
	for i, c := range figureColumns {
		heads[i] = c.head
	}
	s.figureRow(heads, "B")
}

func (s *sheet) figureRow(cells []string, border string) {
	style := ""
	if border != "" {
		style = "B"
	}
	s.pdf.SetFont("go", style, body)
	s.pdf.SetX(left)
	for i, c := range figureColumns {
		s.pdf.CellFormat(c.width, 5, cells[i], border, 0, c.align, false, 0, "")
	}
	s.pdf.Ln(5)
}

// rounded takes off a result what its uncertainty (two figures of it), else the item's resolution (one figure more, for what is in the item's unit) says
// nothing about, and what is only the noise of calculating in binary, beside its limits; never across a limit, nor onto it. The record keeps the whole number.
func (s *sheet) rounded(f *plant.Figure) *float64 {
	if f.Value == nil {
		return nil
	}
	x, largest := *f.Value, 0.0
	digits, known := 0, false
	item := &s.in.Visit.Item
	switch {
	case f.Expanded != nil && *f.Expanded > 0:
		digits, known = 1-int(math.Floor(math.Log10(*f.Expanded))), true
	case item.Resolution != "" && f.Unit == item.Range.Unit:
		digits, known = places(item.Resolution)+1, true
	}
	if high, err := strconv.ParseFloat(string(item.Range.High), 64); err == nil && f.Unit == item.Range.Unit {
		largest = math.Abs(high)
	}
	step := math.Pow(10, -float64(digits))
	near := math.Floor(x/step+0.5) * step
	for _, l := range []*float64{f.LimitLow, f.LimitHigh} {
		if l != nil {
			largest = max(largest, math.Abs(*l))
			known = known && cmp.Compare(near, *l) == cmp.Compare(x, *l)
		}
	}
	switch {
	case known:
		x = near
	case math.Abs(x) < largest*1e-9:
		x = 0
	}
	x += 0 // no minus before a nought
	return &x
}

// figure writes a calculated number with six figures at most.
func figure(x *float64) string {
	if x == nil {
		return "–"
	}
	return minusText(strconv.FormatFloat(*x, 'g', 6, 64))
}

func bounds(low, high *float64) string {
	switch {
	case low == nil && high == nil:
		return "none"
	case low == nil:
		return "≤ " + figure(high)
	case high == nil:
		return "≥ " + figure(low)
	case *low == -*high:
		return "±" + figure(high)
	}
	return figure(low) + " … " + figure(high)
}

// itsRules lists what a programme's runs were judged against, each rule once: the limits of a value, or a condition.
func (in *Input) itsRules() string {
	var list []string
	for _, run := range []*plant.Run{&in.Found, in.Left} {
		if run == nil {
			continue
		}
		for i := range run.Finding.Results {
			f := &run.Finding.Results[i]
			text := ""
			switch {
			case f.Condition != "":
				text = f.Name + ": " + f.Source
			case f.LimitLow != nil || f.LimitHigh != nil:
				text = joined(" ", f.Name+":", bounds(f.LimitLow, f.LimitHigh), f.Unit)
			default: // read without a rule
				continue
			}
			if !slices.Contains(list, text) {
				list = append(list, text)
			}
		}
	}
	return fallback(strings.Join(list, "; "), "no rule of the programme judged what was read")
}

// kindText names a kind of instrument in words.
func kindText(kind string) string {
	if kind == "" || kind == "gauge" {
		return "pressure gauge"
	}
	return strings.ReplaceAll(kind, "-", " ")
}

// noiseless gives a difference of numbers of a size, 0 where it is only the noise of calculating in binary.
func noiseless(difference, of *float64) *float64 {
	if difference != nil && of != nil && math.Abs(*difference) < math.Abs(*of)*1e-9 {
		return new(float64)
	}
	return difference
}
