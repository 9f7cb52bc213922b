package certificates

import (
	"math"
	"strings"

	"gaugewright/calc/units"
	"gaugewright/server/plant"
)

// correctionsKept is how many rows of corrections stay on one page with their heads.
const correctionsKept = 8

// corrections lists what was done to the typed pressures: which correction, how much, and both
// values at every point.
func (s *sheet) corrections(run *plant.Run, r results, unit string) {
	type line struct{ point, typed, judged, size string }
	var lines []line
	moving := false // nothing to say if all was judged as typed
	seen := map[string]bool{}
	for i, reading := range r.readings {
		key := string(reading.Point) + " " + reading.Typed.Applied
		if reading.Typed.Applied == "" || reading.Applied == nil || seen[key] {
			continue
		}
		seen[key] = true
		size := "–"
		if p := r.points[i]; p != nil && p.Typed != nil && p.Applied != nil {
			moved := *p.Applied - *p.Typed
			size = signed(&moved, r.pressures+1)
			moving = moving || *noiseless(&moved, p.Applied) != 0
		} else {
			moving = true
		}
		moving = moving || !strings.HasSuffix(reading.Typed.Applied, " "+unit)
		lines = append(
			lines,
			line{
				s.number(minusText(plainPoint(reading.Point))), s.number(minusText(reading.Typed.Applied)),
				s.number(fixed(reading.Applied, r.pressures)), s.number(size),
			},
		)
	}
	said := s.said(run.Finding, unit, len(lines) > 0)
	if len(said) == 0 && !moving {
		return
	}
	s.pdf.SetY(s.pdf.GetY() + 1)
	s.paragraph(s.say("Corrections, each made once, to the pressure at the standard:"))
	for _, text := range said {
		s.paragraph("– " + text)
	}
	if len(lines) == 0 {
		return
	}
	cells := make([][]string, len(lines))
	for i, l := range lines {
		cells[i] = []string{l.point, l.typed, l.judged, l.size}
	}
	table, fine := s.fitted([]column{
		figuresIn(s.say("point"), 28), figuresIn(s.say("as typed"), 40),
		figuresIn(s.say("corrected, {}", unit), 40), figuresIn(s.say("correction, {}", unit), 34),
	}, cells)
	s.room(6 + 5*float64(min(len(cells), correctionsKept)))
	s.tableHead(table, fine)
	for _, row := range cells {
		if s.room(5) {
			s.tableHead(table, fine)
		}
		s.row(table, fine, row, "")
	}
}

// said lists the corrections of a finding in words, with their size.
func (s *sheet) said(f *plant.Finding, unit string, corrected bool) (list []string) {
	u, known := units.Find(unit)
	size := func(pa *float64) string {
		if !known {
			return s.number(figures(pa, 4)) + " Pa"
		}
		x := *pa / u.Factor
		return s.number(figures(&x, 4)) + " " + unit
	}
	fluid := fallback(s.word(s.in.Visit.HeadFluid), s.say("fluid not recorded"))
	above := s.say("the standard above the item, {}", fluid)
	if h := s.in.Visit.HeadAboveM; h != "" {
		above = s.say("standard {} m above the item, {}", s.typed(h), fluid)
	}
	switch g := &f.Gauge; {
	case g.HeadPa != nil && *g.HeadPa != 0:
		list = append(list, s.say("difference of level ({}): {}", above, size(g.HeadPa)))
	case g.HeadLowPa != nil && g.HeadHighPa != nil:
		list = append(
			list,
			s.say("difference of level ({}): {} to {}, with the pressure", above, size(g.HeadLowPa), size(g.HeadHighPa)),
		)
	}
	if used := s.in.Visit.Standard; corrected && used != nil && used.Certified > 0 {
		list = append(list, s.say("the errors stated in the standard's certificate, between its {} points along straight lines", count(used.Certified)))
	}
	if p := f.Gauge.WiderPercent; p != nil && *p > 0 {
		list = append(list, s.say("temperature: at the one noted EN 837-1 lets the indication change by up to {} % of span; neither reading nor limit is changed for it", s.number(two(p))))
	}
	return list
}

// figures writes a number with its sign and some significant digits.
func figures(x *float64, digits int) string {
	if *x == 0 {
		return "0"
	}
	return signed(x, max(0, digits-1-int(math.Floor(math.Log10(math.Abs(*x))))))
}
