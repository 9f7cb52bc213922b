package certificates

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"

	"gaugewright/server/plant"

	"codeberg.org/go-pdf/fpdf"
)

// results are the readings of a run with their digits.
type results struct {
	readings  []plant.Reading
	applied   []string
	indicated []string
	points    []*plant.Point // the point of each reading; nil where the finding has none
	decimals  int
}

// gather puts beside every reading what was typed for it, and the uncertainty of its point.
func gather(run *plant.Run, resolution plant.Decimal, unit string) results {
	r := results{readings: run.Finding.Readings, decimals: places(resolution)}
	typed := map[[2]string]plant.Decimal{}
	for _, c := range run.Effective() {
		if c.Unit != unit { // judged in the instrument's unit, and so printed in it
			continue
		}
		typed[[2]string{c.Step, c.Of}] = c.Value
		if c.Of != "before_tap" {
			r.decimals = max(r.decimals, places(c.Value))
		}
	}
	r.decimals = min(r.decimals, 9)
	for _, reading := range r.readings {
		text := func(of string, x *float64) string {
			if of == "applied" && reading.Typed.Applied != "" { // what was typed stands under the corrections
				return fixed(x, r.decimals+1)
			}
			if d, ok := typed[[2]string{reading.Step, of}]; ok {
				return minus(d)
			}
			return fixed(x, r.decimals)
		}
		r.applied = append(r.applied, text("applied", reading.Applied))
		r.indicated = append(r.indicated, text("indicated", reading.Indicated))
		var at *plant.Point
		for i := range run.Finding.Points {
			if samePoint(run.Finding.Points[i].Point, reading.Point) {
				at = &run.Finding.Points[i]
			}
		}
		r.points = append(r.points, at)
	}
	return r
}

// expanded returns the uncertainty of a reading's point and its coverage factor; nil where there is none.
func (r *results) expanded(i int) (u, k *float64) {
	if p := r.points[i]; p != nil && p.Expanded != nil && *p.Expanded > 0 {
		return p.Expanded, p.K
	}
	return nil, nil
}

// samePoint compares two points, each a number or a decimal text.
func samePoint(a, b json.RawMessage) bool {
	var x, y plant.Decimal
	if json.Unmarshal(a, &x) != nil || json.Unmarshal(b, &y) != nil {
		return string(a) == string(b)
	}
	p, err := strconv.ParseFloat(string(x), 64)
	q, err2 := strconv.ParseFloat(string(y), 64)
	return err == nil && err2 == nil && p == q
}

var columns = []struct {
	head  string
	width float64
	align string
}{{"direction", 20, "L"}, {"applied", 24, "R"}, {"indicated", 24, "R"}, {"error", 22, "R"}, {"limit", 23, "R"}, {"U", 17, "R"}, {"k", 11, "R"}, {"verdict", 29, "L"}}

func (s *sheet) run(title string, run *plant.Run) {
	if len(run.Finding.Results) > 0 {
		s.figures(title, run)
		return
	}
	r := gather(run, s.in.Visit.Item.Resolution, s.in.Visit.Item.Range.Unit)
	s.heading(title, 30)
	unit := s.in.Visit.Item.Range.Unit
	s.paragraph("All pressures in " + unit + ". Error = indicated − applied.")
	if run.Stopped != "" {
		s.paragraph("The run ended early: " + run.Stopped)
	}
	s.tableHead()
	for i, reading := range r.readings {
		if s.room(5) {
			s.tableHead()
		}
		direction := map[string]string{"up": "rising", "down": "falling"}[reading.Direction]
		if reading.Series > 2 {
			direction += " " + strconv.Itoa((reading.Series+1)/2)
		}
		limit := "none"
		if reading.LimitLow != nil && reading.LimitHigh != nil {
			limit = limits(*reading.LimitLow, *reading.LimitHigh, r.decimals+1)
		}
		decimals := r.decimals
		if reading.Typed.Applied != "" {
			decimals++
		}
		u, k := r.expanded(i)
		s.row([]string{direction, r.applied[i], r.indicated[i], signed(reading.Error, decimals), limit, two(u), fixed(k, 2), reading.Verdict}, "")
	}
	if len(r.readings) == 0 {
		s.paragraph("No reading was evaluated.")
		return
	}
	s.pdf.SetY(s.pdf.GetY() + 2)
	s.chart(r, unit)
	s.corrections(run, r, unit)
}

func limits(low, high float64, decimals int) string {
	if low == -high {
		return "±" + fixed(&high, decimals)
	}
	return fixed(&low, decimals) + "/" + signed(&high, decimals)
}

func (s *sheet) tableHead() {
	s.pdf.SetY(s.pdf.GetY() + 1)
	heads := make([]string, len(columns))
	for i, c := range columns {
		heads[i] = c.head
	}
	s.row(heads, "B")
}

func (s *sheet) row(cells []string, border string) {
	style := ""
	if border != "" {
		style = "B"
	}
	s.pdf.SetFont("go", style, body)
	s.pdf.SetX(left)
	for i, c := range columns {
		gap := 0.0
		if c.head == "verdict" { // a gap between a figure and a word
			gap = 4
			s.pdf.CellFormat(gap, 5, "", border, 0, "L", false, 0, "")
		}
		s.pdf.CellFormat(c.width-gap, 5, cells[i], border, 0, c.align, false, 0, "")
	}
	s.pdf.Ln(5)
}

const (
	chartHeight = 58.0 // mm
	axisWidth   = 17.0
)

// chart draws error against pressure inside the limit band, with bars for the expanded uncertainty where there is one.
func (s *sheet) chart(r results, unit string) {
	type spot struct{ x, y, u float64 }
	var up, down []spot
	var band []plant.Reading
	xs, top := []float64{}, 0.0
	for i, reading := range r.readings {
		if reading.Applied == nil || reading.Error == nil {
			continue
		}
		p := spot{*reading.Applied, *reading.Error, 0}
		if u, _ := r.expanded(i); u != nil {
			p.u = *u
		}
		if reading.Direction == "down" {
			down = append(down, p)
		} else {
			up = append(up, p)
		}
		xs = append(xs, p.x)
		top = max(top, math.Abs(p.y)+p.u)
		if reading.LimitLow != nil && reading.LimitHigh != nil {
			band = append(band, reading)
			top = max(top, math.Abs(*reading.LimitLow), math.Abs(*reading.LimitHigh))
		}
	}
	if len(xs) < 2 || top == 0 || slices.Min(xs) == slices.Max(xs) {
		return
	}
	s.room(chartHeight + 4)
	p := s.pdf
	y0, x0 := p.GetY()+4, left+axisWidth
	width, height := right-left-axisWidth-4, chartHeight-14
	xLow, xHigh := slices.Min(xs), slices.Max(xs)
	top *= 1.15
	at := func(x, y float64) fpdf.PointType {
		return fpdf.PointType{X: x0 + 2 + (x-xLow)/(xHigh-xLow)*(width-4), Y: y0 + height/2 - y/top*height/2}
	}
	slices.SortStableFunc(band, func(a, b plant.Reading) int {
		switch {
		case *a.Applied < *b.Applied:
			return -1
		case *a.Applied > *b.Applied:
			return 1
		}
		return 0
	})
	if len(band) > 1 {
		var edge []fpdf.PointType
		for _, b := range band {
			edge = append(edge, at(*b.Applied, *b.LimitHigh))
		}
		for _, b := range slices.Backward(band) {
			edge = append(edge, at(*b.Applied, *b.LimitLow))
		}
		p.SetFillColor(236, 236, 236)
		p.SetDrawColor(90, 90, 90)
		p.SetLineWidth(0.25)
		p.Polygon(edge, "FD")
	}
	p.SetDrawColor(0, 0, 0)
	p.SetLineWidth(0.2)
	p.Line(x0, y0, x0, y0+height)
	p.Line(x0, y0+height, x0+width, y0+height)
	p.SetLineWidth(0.1)
	p.Line(x0, at(xLow, 0).Y, x0+width, at(xLow, 0).Y)
	s.ticks(xLow, xHigh, top, at, x0, y0+height)
	p.SetLineWidth(0.3)
	draw := func(spots []spot, dashed bool) {
		if dashed {
			p.SetDashPattern([]float64{1.5, 1}, 0)
		}
		for i := 1; i < len(spots); i++ {
			a, b := at(spots[i-1].x, spots[i-1].y), at(spots[i].x, spots[i].y)
			p.Line(a.X, a.Y, b.X, b.Y)
		}
		p.SetDashPattern(nil, 0)
		for _, q := range spots {
			c := at(q.x, q.y)
			if q.u > 0 {
				a, b := at(q.x, q.y-q.u), at(q.x, q.y+q.u)
				p.Line(a.X, a.Y, b.X, b.Y)
				p.Line(a.X-0.7, a.Y, a.X+0.7, a.Y)
				p.Line(b.X-0.7, b.Y, b.X+0.7, b.Y)
			}
			s.spot(c.X, c.Y, dashed)
		}
	}
	draw(up, false)
	draw(down, true)
	s.legend(x0, y0, width, height, unit, len(down) > 0, len(band) > 1)
	p.SetY(y0 + chartHeight - 2)
}

func (s *sheet) spot(x, y float64, falling bool) {
	if falling {
		s.pdf.SetFillColor(255, 255, 255)
		s.pdf.Rect(x-0.8, y-0.8, 1.6, 1.6, "FD")
		return
	}
	s.pdf.SetFillColor(0, 0, 0)
	s.pdf.Circle(x, y, 0.8, "F")
}

func (s *sheet) legend(x0, y0, width, height float64, unit string, falling, band bool) {
	p := s.pdf
	p.SetFont("go", "", small)
	p.SetXY(left, y0-4.5)
	p.CellFormat(60, 4, "error, "+unit, "", 0, "L", false, 0, "")
	p.SetXY(x0+width-60, y0+height+4.5)
	p.CellFormat(60, 4, "applied pressure, "+unit, "", 0, "R", false, 0, "")
	y := y0 + height + 6.5
	p.SetDrawColor(0, 0, 0)
	x := x0 + 2
	entry := func(draw func(x float64), text string) {
		draw(x)
		p.SetXY(x+3, y-2)
		p.CellFormat(22, 4, text, "", 0, "L", false, 0, "")
		x += 9 + p.GetStringWidth(text)
	}
	entry(func(x float64) { s.spot(x, y, false) }, "rising")
	if falling {
		entry(func(x float64) { s.spot(x, y, true) }, "falling")
	}
	if band {
		entry(func(x float64) {
			p.SetFillColor(236, 236, 236)
			p.SetDrawColor(90, 90, 90)
			p.Rect(x-1.5, y-1, 3, 2, "FD")
			p.SetDrawColor(0, 0, 0)
		}, "limit band")
	}
}

// step returns 1, 2 or 5 times a power of ten, such that about n of them make a length.
func step(length float64, n int) (size float64, decimals int) {
	raw := length / float64(n)
	power := math.Floor(math.Log10(raw))
	base := math.Pow(10, power)
	size = 10 * base
	for _, m := range []float64{1, 2, 5} {
		if m*base >= raw {
			size = m * base
			break
		}
	}
	return size, max(0, -int(math.Floor(math.Log10(size)+1e-9)))
}

func (s *sheet) ticks(xLow, xHigh, top float64, at func(x, y float64) fpdf.PointType, x0, yBase float64) {
	p := s.pdf
	p.SetFont("go", "", small)
	size, decimals := step(xHigh-xLow, 6)
	for i := math.Ceil(xLow/size - 1e-9); i*size <= xHigh+size*1e-9; i++ {
		v := i * size
		x := at(v, 0).X
		p.Line(x, yBase, x, yBase+1)
		p.SetXY(x-10, yBase+1)
		p.CellFormat(20, 3.5, fixed(&v, decimals), "", 0, "C", false, 0, "")
	}
	size, decimals = step(2*top, 6)
	for i := math.Ceil(-top / size); i*size <= top; i++ {
		v := i * size
		y := at(xLow, v).Y
		p.Line(x0-1, y, x0, y)
		p.SetXY(left-2, y-2)
		p.CellFormat(axisWidth, 4, signed(&v, decimals), "", 0, "R", false, 0, "")
	}
}
