package certificates

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"gaugewright/calc/numeric"
	"gaugewright/server/plant"

	"codeberg.org/go-pdf/fpdf"
)

// systemFinding is what a certificate states and draws for the kinds leak, switch and burst.
type systemFinding struct {
	Leak *struct {
		Volume     *float64 `json:"volume_m3"`
		VolumeRel  *float64 `json:"u_volume_rel"`
		Confidence float64
		Phases     []struct {
			Name, Unit, Mode string
			Run              int
			N                int
			Below            bool      `json:"below_detection_limit"`
			T                []float64 `json:"t_s"`
			P                []float64
			Line             struct {
				T []float64 `json:"t_s"`
				P []float64
			}
		}
	}
	Switch *struct {
		Locked   bool
		Contacts []struct {
			Name, Acts, Safe string
			Nominal          float64
			Tolerance        float64
			Safety           bool     `json:"safety_function"`
			First            *float64 `json:"first_set"`
			Apart            *float64 `json:"first_apart"`
			Cycles           []struct {
				Set, Reset *float64
				Band       *float64 `json:"dead_band"`
			}
		}
	}
	Burst *struct {
		Marked, Tolerance float64
		Lot               string
		LotSize           int `json:"lot_size"`
		Sentence          string
		Discs             []struct {
			Disc        int
			Identity    string
			Temperature *float64 `json:"temperature_c"`
			Burst       bool
			Saturated   bool
			Peak        float64
			PeakT       *float64  `json:"peak_t_s"`
			T           []float64 `json:"t_s"`
			P           []float64
		}
	}
}

func systemsOf(run *plant.Run) systemFinding {
	var f systemFinding
	if json.Unmarshal(run.Finding.Raw, &f) != nil {
		return systemFinding{}
	}
	return f
}

// systemFacts returns the facts of a leak, switch or burst test beside its figures, and the text
// about them.
func (s *sheet) systemFacts(f *systemFinding) (facts []Fact, text string) {
	fact := func(name, text string) { facts = append(facts, Fact{name, text}) }
	unit := s.in.Visit.Item.Range.Unit
	if l := f.Leak; l != nil {
		if l.Volume != nil {
			volume := s.number(figure(l.Volume)) + " m³"
			if l.VolumeRel != nil && *l.VolumeRel > 0 {
				volume += s.say(", standard uncertainty {} %", s.number(fmt.Sprintf("%.2g", 100**l.VolumeRel)))
			}
			fact(s.say("Test volume"), volume)
		}
		text = s.say("The rate is the slope of a straight line through the pressures, referred to one temperature by the ideal gas law and, of a gauge sensor, to one barometer. It is positive for a leak. "+
			"U is the expanded uncertainty at a confidence of {}, with the k of its degrees of freedom, of the readings as far as they may hang together, the volume, the standard and the readings of "+
			"temperature, barometer and sensor step, or what may have changed where they were not read; the detection limit is twice the critical level at 95 %.", s.confidence(l.Confidence))
	}
	if w := f.Switch; w != nil {
		for i := range w.Contacts {
			c := &w.Contacts[i]
			set := s.say("set by {} at {}", s.word(c.Acts+" pressure"), s.about(c.Nominal, c.Tolerance, unit))
			if c.Safe != "" {
				set += s.say("; {} on the safe side", s.word(c.Safe))
			}
			if c.Safety {
				set += s.say("; safety function, found once and not repeated")
			}
			fact(c.Name, set)
			if c.Apart != nil {
				fact("", s.say("first actuation {} {}, {} {} from the mean of the others", s.number(figure(c.First)), unit,
					s.number(figure(noiseless(c.Apart, c.First))), unit))
			}
		}
	}
	if b := f.Burst; b != nil {
		fact(s.say("Marked burst pressure"), s.about(b.Marked, b.Tolerance, unit))
		lot := b.Lot
		if b.LotSize > 0 {
			lot += s.say(", {} discs", count(b.LotSize))
		}
		fact(s.say("Lot"), lot)
		for i := range b.Discs {
			d := &b.Discs[i]
			disc := fallback(d.Identity, s.say("not marked"))
			if d.Temperature != nil {
				disc += s.say(", at {} °C", s.number(figure(d.Temperature)))
			}
			switch {
			case !d.Burst:
				disc += s.say(", did not burst")
			case d.Saturated:
				disc += s.say(", at least the figure below: the sensor was at its full scale")
			}
			fact(s.say("Disc {}", count(d.Disc)), disc)
		}
		text = s.say("The burst pressure is the largest recorded value, never extrapolated. ") + s.sentence(b.Sentence)
	}
	return facts, text
}

// undetected names the phases of a leak test whose rate lies below their detection limit, "" if none
// does.
func (s *sheet) undetected(f *systemFinding) string {
	var names []string
	for i := range f.Leak.Phases {
		p := &f.Leak.Phases[i]
		if name := s.word(p.Name); p.Below && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return s.say("Below the detection limit: {}. There a leak cannot be told from none.", strings.Join(names, s.say(", ")))
}

// about writes a value with its tolerance, both with the same decimals and the tolerance with at most
// three significant digits: (1.000 ± 0.138) bar.
func (s *sheet) about(value, tolerance float64, unit string) string {
	tolerance = numeric.RoundSignificant(tolerance, 3)
	decimals := max(shortest(tolerance), min(shortest(value), 6))
	return "(" + s.number(fixed(&value, decimals)) + " ± " + s.number(fixed(&tolerance, decimals)) + ") " + unit
}

// switchReasons are why a switch did not pass, by the calculation's short names.
var switchReasons = map[string]string{
	"set point":         "a set point lies outside its limits",
	"dead band":         "a dead band lies outside its limits",
	"no actuation":      "it did not act",
	"no reset":          "it did not go back",
	"actuated at start": "it had acted before the pressure moved",
}

// reason says why a run did not pass; for a switch the name of the contact comes first.
func (s *sheet) reason(text string) string {
	contact, why, named := strings.Cut(text, ": ")
	if !named {
		contact, why = "", text
	}
	if said, ok := switchReasons[why]; ok && s.def.Kind == "switch" {
		return joined(": ", contact, s.word(said))
	}
	if named && s.def.Kind == "leak" { // the name of a phase
		return joined(": ", s.word(contact), s.sentence(why))
	}
	return s.sentence(text)
}

// confidence writes a confidence in per cent; k = 2 has 95 %.
func (t tongue) confidence(c float64) string {
	if c == 0 || c == 0.95 {
		return t.say("about 95 % (k = 2 where the readings are many)")
	}
	return t.number(fmt.Sprintf("%.4g", 100*c)) + " %"
}

// systemCharts are drawings of the readings with the fitted line, of the points of the cycles, or of
// the records of the bursts.
func (s *sheet) systemCharts(f *systemFinding) (list []drawing) {
	unit := s.in.Visit.Item.Range.Unit
	if l := f.Leak; l != nil {
		for i := range l.Phases {
			p := &l.Phases[i]
			title := s.word(p.Name)
			if p.Run > 1 {
				title += s.say(", run {}", count(p.Run))
			}
			list = append(list, s.curves(
				s.say("{}: pressure, compensated, with its straight line, {}", title, p.Unit), s.say("time, s"),
				[]curve{{x: p.T, y: p.P}, {x: p.Line.T, y: p.Line.P, line: true}},
			)...)
		}
	}
	if w := f.Switch; w != nil {
		for i := range w.Contacts {
			c := &w.Contacts[i]
			var set, reset curve
			for k, cycle := range c.Cycles {
				if cycle.Set != nil {
					set.x, set.y = append(set.x, float64(k+1)), append(set.y, *cycle.Set)
				}
				if cycle.Reset != nil {
					reset.x, reset.y = append(reset.x, float64(k+1)), append(reset.y, *cycle.Reset)
				}
			}
			reset.hollow = true
			n := float64(len(c.Cycles))
			list = append(list, s.curves(s.say("{}: set points (full), their limits (dashed) and reset points (hollow), {}", c.Name, unit), s.say("cycle"), []curve{set, reset,
				{
					x: []float64{1, n}, y: []float64{c.Nominal - c.Tolerance, c.Nominal - c.Tolerance}, line: true,
					dashed: true,
				},
				{
					x: []float64{1, n}, y: []float64{c.Nominal + c.Tolerance, c.Nominal + c.Tolerance}, line: true,
					dashed: true,
				}})...)
		}
	}
	if b := f.Burst; b != nil {
		for i := range b.Discs {
			d := &b.Discs[i]
			if len(d.T) < 2 || d.PeakT == nil {
				continue
			}
			list = append(list, s.curves(
				s.say("disc {}: pressure, {}", count(d.Disc), unit), s.say("time, s"),
				[]curve{{x: d.T, y: d.P, line: true}, {x: []float64{*d.PeakT}, y: []float64{d.Peak}}},
			)...)
		}
	}
	return list
}

// curve is one set of points in a drawing: spots, or a line through them.
type curve struct {
	x, y                 []float64
	line, dashed, hollow bool
}

const curvesHeight = 50.0 // mm

// curves is a drawing of pressure against time or number, or none if there is nothing to draw.
func (s *sheet) curves(title, below string, list []curve) []drawing {
	var xs, ys []float64
	for _, c := range list {
		xs, ys = append(xs, c.x...), append(ys, c.y...)
	}
	if len(xs) < 2 {
		return nil
	}
	return []drawing{{curvesHeight + 4, func() { s.drawCurves(title, below, xs, ys, list) }}}
}

func (s *sheet) drawCurves(title, below string, xs, ys []float64, list []curve) {
	xLow, xHigh, yLow, yHigh := slices.Min(xs), slices.Max(xs), slices.Min(ys), slices.Max(ys)
	if xLow == xHigh {
		xLow, xHigh = xLow-0.5, xHigh+0.5
	}
	if yLow == yHigh {
		margin := math.Max(math.Abs(yLow)/1000, 1e-9)
		yLow, yHigh = yLow-margin, yHigh+margin
	}
	margin := (yHigh - yLow) * 0.06
	yLow, yHigh = yLow-margin, yHigh+margin
	s.room(curvesHeight + 4)
	p := s.pdf
	p.SetFont("go", "", small)
	p.SetXY(s.left, p.GetY()+2)
	s.cell(textWidth, 4, title, "", 1, "L")
	x0, y0, width, height := s.left+axisWidth+3, p.GetY()+1, textWidth-axisWidth-7, curvesHeight-14
	at := func(x, y float64) fpdf.PointType {
		return fpdf.PointType{X: x0 + 2 + (x-xLow)/(xHigh-xLow)*(width-4), Y: y0 + (yHigh-y)/(yHigh-yLow)*height}
	}
	p.SetDrawColor(0, 0, 0)
	p.SetLineWidth(0.2)
	p.Line(x0, y0, x0, y0+height)
	p.Line(x0, y0+height, x0+width, y0+height)
	size, decimals := step(xHigh-xLow, 6)
	if size < 1 && below == s.say("cycle") {
		size, decimals = 1, 0
	}
	for i := math.Ceil(xLow/size - 1e-9); i*size <= xHigh+size*1e-9; i++ {
		v := i * size
		x := at(v, yLow).X
		p.Line(x, y0+height, x, y0+height+1)
		p.SetXY(x-10, y0+height+1)
		s.cell(20, 3.5, s.number(fixed(&v, decimals)), "", 0, "C")
	}
	size, decimals = step(yHigh-yLow, 5)
	for i := math.Ceil(yLow / size); i*size <= yHigh; i++ {
		v := i * size
		y := at(xLow, v).Y
		p.Line(x0-1, y, x0, y)
		p.SetXY(s.left-2, y-2)
		s.cell(axisWidth+3, 4, s.number(fixed(&v, decimals)), "", 0, "R")
	}
	for _, c := range list {
		if c.line {
			if c.dashed {
				p.SetDashPattern([]float64{1.5, 1}, 0)
			}
			for i := 1; i < len(c.x); i++ {
				a, b := at(c.x[i-1], c.y[i-1]), at(c.x[i], c.y[i])
				p.Line(a.X, a.Y, b.X, b.Y)
			}
			p.SetDashPattern(nil, 0)
			continue
		}
		for i := range c.x {
			q := at(c.x[i], c.y[i])
			if len(c.x) > 60 { // a logger's record: small spots
				p.SetFillColor(0, 0, 0)
				p.Circle(q.X, q.Y, 0.25, "F")
				continue
			}
			s.spot(q.X, q.Y, c.hollow)
		}
	}
	p.SetXY(x0+width-60, y0+height+4.5)
	s.cell(60, 4, strings.TrimSpace(below), "", 0, "R")
	p.SetY(y0 + height + 10)
}
