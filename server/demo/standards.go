package demo

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"gaugewright/calc/units"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// reference is a standard's record with the dates of its calibrations, the latest last.
type reference struct {
	plant.Standard
	state      merge.State
	calibrated []time.Time
}

// certifiedU is the U of a certificate's points, and bow how far its range is from the truth, both
// as fractions of the specification.
const (
	certifiedU = 0.4
	bow        = 0.15
)

// errorOf returns the error of standard i in range k at its nth calibration, as a fraction of its
// specification, at a part of the range. It changes a little every year, more towards the top. One
// standard is out: its latest calibration finds it beyond its specification above the lower quarter
// of the range.
func errorOf(i, k, n, times int, part float64) float64 {
	tilt := 0.1*float64((i+2*k)%5-2) + 0.06*float64((i+k)%3-1)*float64(n)
	e := tilt*part + bow*4*part*(1-part)*float64(1-2*(i%2))
	if standards[i].out && n == times-1 && part > 0.25 {
		e += 28 * (part - 0.25)
	}
	return e
}

// partsOf returns into how many parts a certificate's points divide a range so that the points have
// round values.
func partsOf(extent float64) int {
	for _, parts := range []int{6, 7, 8} {
		if twice := 2 * extent / float64(parts); twice == math.Trunc(twice) {
			return parts
		}
	}
	return 5
}

// pointsOf writes the points of a certificate: the error of the standard, with two digits of its
// uncertainty.
func pointsOf(i, k, n, times int) []doc {
	r := standards[i].ranges[k]
	low, high := value(r["low"]), value(r["high"])
	promise := value(r["of_span_percent"]) / 100 * (high - low)
	places := max(0, 1-int(math.Floor(math.Log10(certifiedU*promise))))
	parts := partsOf(high - low)
	list := make([]doc, 0, parts+1)
	for p := range parts + 1 {
		part := float64(p) / float64(parts)
		applied := strconv.FormatFloat(low+float64(p)*(high-low)/float64(parts), 'f', -1, 64)
		list = append(
			list,
			doc{
				"applied": applied, "error": number(promise*errorOf(i, k, n, times, part), places),
				"expanded": number(certifiedU*promise, places), "k": "2",
			},
		)
	}
	return list
}

func value(text string) float64 {
	x, _ := strconv.ParseFloat(text, 64)
	return x
}

// rangeOf is a range with its drift and the points of its nth calibration.
func rangeOf(i, k, n, times int) doc {
	out := doc{}
	for name, v := range standards[i].ranges[k] {
		out[name] = v
	}
	promise := value(out["of_span_percent"].(string)) / 100 * (value(out["high"].(string)) - value(out["low"].(string)))
	out["drift_per_year"] = strconv.FormatFloat(promise/10, 'g', 2, 64)
	out["points"] = pointsOf(i, k, n, times)
	return out
}

// reference makes a standard and, in order of issue, the certificates of its calibrations: one a
// year, the latest in force.
func (m *maker) reference(i int, founded time.Time) error {
	x := &standards[i]
	latest := m.start.AddDate(0, -2-i, -3*i)
	if x.expired {
		latest = m.start.AddDate(-1, -1, -4)
	}
	ref := reference{}
	for back := m.Years + 1; back >= 0; back-- {
		ref.calibrated = append(ref.calibrated, latest.AddDate(-back, 0, 0))
	}
	times := len(ref.calibrated)
	state := merge.State{ID: m.id(), Kind: "standard"}
	for n, day := range ref.calibrated {
		at := day.AddDate(0, 0, 3)
		var set, ranges = []plant.Set(nil), make([]doc, len(x.ranges))
		if n == 0 {
			at = founded
			set = []plant.Set{{Field: "name", Value: x.name}, {Field: "serial", Value: x.serial}, {
				Field: "manufacturer", Value: x.manufacturer,
			},
				{Field: "model", Value: x.model}, {Field: "status", Value: "in service"}, {Field: "medium", Value: x.medium}}
			if x.clean {
				set = append(set, plant.Set{Field: "cleaned_for_oxygen", Value: founded.Format(time.DateOnly)})
			}
		}
		no, calibrated, due := certificateOf(i, day), day.Format(time.DateOnly), day.AddDate(1, 0, 0).Format(time.DateOnly)
		for k, r := range x.ranges {
			ranges[k] = rangeOf(i, k, n, times)
			set = append(set, plant.Set{Field: "certificate." + m.id(), Value: doc{"number": no, "calibrated": calibrated, "due": due, "by": laboratory,
				"range": doc{
					"low": r["low"], "high": r["high"], "unit": r["unit"], "mode": r["mode"],
				}, "points": ranges[k]["points"]}})
		}
		set = append(
			set, plant.Set{Field: "ranges", Value: ranges}, plant.Set{Field: "certificate_no", Value: no},
			plant.Set{Field: "calibrated", Value: calibrated}, plant.Set{Field: "due", Value: due},
		)
		var err error
		if state, err = m.keep(m.administrator(), state, at, set...); err != nil {
			return err
		}
	}
	std, err := plant.ReadStandard(state)
	if err != nil {
		return err
	}
	ref.Standard, ref.state = std, state
	m.standards = append(m.standards, ref)
	return nil
}

// laboratory is the invented laboratory that calibrates the standards.
const laboratory = "Kallerup pressure laboratory"

// certificateOf returns the number of the certificate for a standard's calibration.
func certificateOf(i int, calibrated time.Time) string {
	return fmt.Sprintf("KL-%d-%03d%02d", calibrated.Year(), calibrated.YearDay(), 11+3*i%89)
}

// standardFor picks the smallest range that covers the gauge's, of a standard that is not overdue,
// with the points of the certificate that was in force then, all converted to the gauge's unit.
func (m *maker) standardFor(g *gauge, at time.Time) (doc, error) {
	unit, _ := units.Find(g.unit)
	bestSpan, bestStandard, bestRange := math.Inf(1), -1, 0
	for i := range m.standards {
		if standards[i].expired && at.After(m.start.AddDate(0, -1, -4)) {
			continue
		}
		for k, r := range standards[i].ranges {
			convert := converter(r["unit"], unit)
			low, high := value(convert(r["low"])), value(convert(r["high"]))
			if low > g.low || high < g.high || high-low >= bestSpan {
				continue
			}
			bestSpan, bestStandard, bestRange = high-low, i, k
		}
	}
	if bestStandard < 0 {
		return nil, fmt.Errorf("no standard reaches from %g to %g %s", g.low, g.high, g.unit)
	}
	s := &m.standards[bestStandard]
	n := len(s.calibrated) - 1
	for n > 0 && s.calibrated[n].After(at) {
		n--
	}
	was := rangeOf(bestStandard, bestRange, n, len(s.calibrated))
	convert := converter(was["unit"].(string), unit)
	moved := doc{}
	for name, v := range was {
		moved[name] = v
	}
	moved["unit"] = g.unit
	for _, name := range []string{"low", "high", "drift_per_year"} {
		moved[name] = convert(was[name].(string))
	}
	points := make([]doc, 0, 8)
	for _, p := range was["points"].([]doc) {
		points = append(
			points,
			doc{
				"applied": convert(p["applied"].(string)), "error": convert(p["error"].(string)),
				"expanded": convert(p["expanded"].(string)), "k": p["k"],
			},
		)
	}
	moved["points"] = points
	calibrated := s.calibrated[n]
	moved["years_since"] = number(at.Sub(calibrated).Hours()/24/365.25, 3)
	return doc{"id": s.ID, "range": moved, "snapshot": doc{"range": was, "name": s.Name, "serial": s.Serial, "manufacturer": s.Manufacturer, "model": s.Model,
		"certificate_no": certificateOf(bestStandard, calibrated), "calibrated": calibrated.Format(time.DateOnly),
		"due": calibrated.AddDate(1, 0, 0).Format(time.DateOnly), "status": s.Status}}, nil
}

// converter returns a function that converts texts from one unit of pressure to another.
func converter(from string, to units.Unit) func(text string) string {
	unit, _ := units.Find(from)
	return func(text string) string {
		if unit.Name == to.Name {
			return text
		}
		y, _ := units.Convert(value(text), unit, to)
		return strconv.FormatFloat(y, 'f', -1, 64)
	}
}
