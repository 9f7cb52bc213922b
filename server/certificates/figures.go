package certificates

import (
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
		s.figureRow([]string{f.Name, figure(f.Value) + " " + f.Unit, bounds(f.LimitLow, f.LimitHigh), two(f.Expanded), number, f.Verdict}, "")
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

// kindText names a kind of instrument in words.
func kindText(kind string) string {
	if kind == "" || kind == "gauge" {
		return "pressure gauge"
	}
	return strings.ReplaceAll(kind, "-", " ")
}
