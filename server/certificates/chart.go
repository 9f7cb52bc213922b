package certificates

import (
	"math"
	"slices"
	"strconv"

	"gaugewright/calc/gauge"
	"gaugewright/server/plant"

	"codeberg.org/go-pdf/fpdf"
)

const (
	chartHeight = 58.0 // mm
	axisWidth   = 17.0
)

// drawing is a chart to be drawn, with the height it needs in mm.
type drawing struct {
	height float64
	draw   func()
}

// charted reports whether a run's errors are drawn.
func (s *sheet) charted(r *results) bool {
	n := 0
	for _, reading := range r.readings {
		if reading.Applied != nil && reading.Error != nil {
			n++
		}
	}
	return n > 1
}

// chart draws error against pressure within the limit band, with bars for the expanded uncertainty
// if there is one; below and above describe the drawing.
func (s *sheet) chart(r results, below, above string) {
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
	y0, x0 := p.GetY()+4, s.left+axisWidth
	width, height := textWidth-axisWidth-4, chartHeight-14
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
		band = stepped(band, s.limitSteps())
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
			if dashed == (spots[i].x > spots[i-1].x) && spots[i].x != spots[i-1].x {
				continue // the next cycle begins
			}
			a, b := at(spots[i-1].x, spots[i-1].y), at(spots[i].x, spots[i].y)
			p.Line(a.X, a.Y, b.X, b.Y)
		}
		p.SetDashPattern(nil, 0)
		for _, q := range spots {
			c := at(q.x, q.y)
			if q.u/top*height/2 > hollowHalf { // a shorter bar would only blur the spot
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
	s.legend(x0, y0, width, height, below, above, len(up) > 0, len(down) > 0, len(band) > 1)
	p.SetY(y0 + chartHeight - 2)
}

// limitSteps returns the pressures at which the limit of the item changes at once.
func (s *sheet) limitSteps() []float64 {
	span := s.in.Visit.Item.Range
	low, err := strconv.ParseFloat(string(span.Low), 64)
	if err != nil {
		return nil
	}
	return gauge.Steps(s.in.Visit.Item.Limit.Rule, low, low+spanOf(span))
}

// stepped puts both limits at each step between two readings, in order of pressure, whose limits
// differ.
func stepped(band []plant.Reading, steps []float64) (list []plant.Reading) {
	if len(steps) == 0 {
		return band
	}
	near := (*band[len(band)-1].Applied - *band[0].Applied) / 40 // a reading at the step may have been corrected beyond it
	for i := range band {
		if i > 0 && *band[i-1].LimitHigh != *band[i].LimitHigh {
			from, to := *band[i-1].Applied, *band[i].Applied
			for _, x := range steps {
				if from-near < x && x < to+near {
					x = min(max(x, from), to)
					before, after := band[i-1], band[i]
					before.Applied, after.Applied = &x, &x
					list = append(list, before, after)
				}
			}
		}
		list = append(list, band[i])
	}
	return list
}

// hollowHalf is half the side of the square of a falling point in mm. The dot of a rising one with the
// same value is seen inside it.
const hollowHalf = 1.15

func (s *sheet) spot(x, y float64, falling bool) {
	if falling {
		s.pdf.Rect(x-hollowHalf, y-hollowHalf, 2*hollowHalf, 2*hollowHalf, "D")
		return
	}
	s.pdf.SetFillColor(0, 0, 0)
	s.pdf.Circle(x, y, 0.8, "F")
}

func (s *sheet) legend(x0, y0, width, height float64, below, above string, rising, falling, band bool) {
	p := s.pdf
	p.SetFont("go", "", small)
	p.SetXY(s.left, y0-4.5)
	s.cell(textWidth, 4, above, "", 0, "L")
	p.SetXY(x0+width-60, y0+height+4.5)
	s.cell(60, 4, below, "", 0, "R")
	y := y0 + height + 6.5
	p.SetDrawColor(0, 0, 0)
	x := x0 + 2
	entry := func(draw func(x float64), text string) {
		draw(x)
		p.SetXY(x+3, y-2)
		s.cell(22, 4, text, "", 0, "L")
		x += 9 + p.GetStringWidth(text)
	}
	if rising {
		entry(func(x float64) { s.spot(x, y, false) }, s.say("rising"))
	}
	if falling {
		entry(func(x float64) { s.spot(x, y, true) }, s.say("falling"))
	}
	if band {
		entry(func(x float64) {
			p.SetFillColor(236, 236, 236)
			p.SetDrawColor(90, 90, 90)
			p.Rect(x-1.5, y-1, 3, 2, "FD")
			p.SetDrawColor(0, 0, 0)
		}, s.say("limit band"))
	}
}

// step returns 1, 2 or 5 times a power of ten so that about n steps make a length.
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
		s.cell(20, 3.5, s.number(fixed(&v, decimals)), "", 0, "C")
	}
	size, decimals = step(2*top, 6)
	for i := math.Ceil(-top / size); i*size <= top; i++ {
		v := i * size
		y := at(xLow, v).Y
		p.Line(x0-1, y, x0, y)
		p.SetXY(s.left-2, y-2)
		s.cell(axisWidth, 4, s.number(signed(&v, decimals)), "", 0, "R")
	}
}
