package certificates

import (
	"math"
	"strconv"

	"gaugewright/calc/units"
	"gaugewright/server/plant"
)

// corrections lists what was done to the pressures as they were typed: by what, how much, and both
// values at every point.
func (s *sheet) corrections(run *plant.Run, r results, unit string) {
	type line struct{ point, typed, judged, size string }
	var lines []line
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
		}
		lines = append(
			lines,
			line{
				minusText(plainPoint(reading.Point)), minusText(reading.Typed.Applied),
				fixed(reading.Applied, r.pressures), size,
			},
		)
	}
	said := s.said(run.Finding, unit, len(lines) > 0)
	if len(lines) == 0 && len(said) == 0 {
		return
	}
	s.pdf.SetY(s.pdf.GetY() + 1)
	s.paragraph("Corrections, each made once, to the pressure at the standard:")
	for _, text := range said {
		s.paragraph("– " + text)
	}
	if len(lines) == 0 {
		return
	}
	widths := []float64{28, 40, 40, 34}
	head := []string{"point", "as typed", "corrected, " + unit, "correction, " + unit}
	write := func(cells []string, style string) {
		s.pdf.SetFont("go", style, body)
		s.pdf.SetX(s.left)
		border := ""
		if style != "" {
			border = "B"
		}
		for i, c := range cells {
			s.cell(widths[i], 5, c, border, 0, "R")
		}
		s.pdf.Ln(5)
	}
	s.room(15)
	write(head, "B")
	for _, l := range lines {
		if s.room(5) {
			write(head, "B")
		}
		write([]string{l.point, l.typed, l.judged, l.size}, "")
	}
}

// said names the corrections of a finding in words, with their size.
func (s *sheet) said(f *plant.Finding, unit string, corrected bool) (list []string) {
	u, known := units.Find(unit)
	size := func(pa *float64) string {
		if !known {
			return figures(pa, 4) + " Pa"
		}
		x := *pa / u.Factor
		return figures(&x, 4) + " " + unit
	}
	above := joined(
		" ", prefixed("standard ", minusText(string(s.in.Visit.HeadAboveM))), "m above the item,",
		s.in.Visit.HeadFluid,
	)
	switch g := &f.Gauge; {
	case g.HeadPa != nil && *g.HeadPa != 0:
		list = append(list, "difference of level ("+above+"): "+size(g.HeadPa))
	case g.HeadLowPa != nil && g.HeadHighPa != nil:
		list = append(
			list,
			"difference of level ("+above+"): "+size(g.HeadLowPa)+" to "+size(g.HeadHighPa)+", with the pressure",
		)
	}
	if used := s.in.Visit.Standard; corrected && used != nil && used.Certified > 0 {
		list = append(list, "the errors stated in the standard's certificate, between its "+strconv.Itoa(used.Certified)+" points along straight lines")
	}
	if p := f.Gauge.WiderPercent; p != nil && *p > 0 {
		list = append(list, "temperature: at the one noted EN 837-1 lets the indication change by up to "+two(p)+" % of span; neither reading nor limit is changed for it")
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
