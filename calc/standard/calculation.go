package standard

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

const (
	mostPoints  = 1000
	coverage    = 2 // coverage factor of the expanded uncertainty and of the ratio
	usualRatio  = 4 // common practice, no source: limit to expanded uncertainty
	usualShare  = 0.95
	leastRatio  = 0.1 // the global risk is computed between these two; outside, the answer is certain
	largestSeen = 1000
)

// Calculations returns the calculations standard, certificate and changes.
//
// Takes:   falseAccept, the global risk of accepting an instrument out of tolerance by simple
// acceptance, for a ratio and a share in tolerance.
func Calculations(falseAccept func(ratio, share float64) float64) []document.Calculation {
	call := func(in *document.Reader, out *document.Writer) error { return calculate(in, out, falseAccept) }
	return []document.Calculation{{Name: "standard", Call: call}, {Name: "certificate", Call: calculateCertificate},
		{Name: "changes", Call: calculateChanges}}
}

// demand is what a standard must fulfil to be good enough.
type demand struct {
	ratio       float64 // at least; 0 if the risk decides
	risk        float64 // at most
	share       float64
	falseAccept func(ratio, share float64) float64
}

func (d *demand) met(ratio float64) bool {
	switch {
	case d.ratio > 0:
		return ratio >= d.ratio
	case ratio < leastRatio:
		return false
	}
	return d.falseAccept(min(ratio, largestSeen), d.share) <= d.risk
}

func readDemand(in *document.Reader) demand {
	d := demand{share: in.NumberOr("in_tolerance", usualShare)}
	ratio, hasRatio := in.Optional("needed_ratio")
	risk, hasRisk := in.Optional("max_false_accept")
	switch {
	case in.Err() != nil:
	case hasRatio && hasRisk:
		in.Fail(document.CodeConflict, "needed_ratio", "give the ratio or the risk, not both")
	case hasRatio && !(ratio > 0):
		in.Fail(document.CodeRange, "needed_ratio", "must be above zero")
	case hasRisk && !(risk > 0 && risk < 0.5):
		in.Fail(document.CodeRange, "max_false_accept", "must be between 0 and 0.5")
	case !(d.share > 0.01 && d.share < 0.999999):
		in.Fail(document.CodeRange, "in_tolerance", "must be between 0.01 and 0.999999")
	case hasRisk:
		d.risk = risk
	case hasRatio:
		d.ratio = ratio
	default:
		d.ratio = usualRatio
	}
	return d
}

// readLimits reads the limits at the points: one for all, or one for each.
func readLimits(in *document.Reader, n int) []float64 {
	limits := make([]float64, n)
	if in.Has("limit") == in.Has("limits") {
		in.Fail(document.CodeMissing, "limit", "give the limit at all points, or limits, one for each")
		return limits
	}
	if in.Has("limits") {
		limits = in.Numbers("limits")
		if in.Err() == nil && len(limits) != n {
			in.Fail(document.CodeShape, "limits", "as many limits as points are needed")
		}
	} else {
		one := in.Number("limit")
		for i := range limits {
			limits[i] = one
		}
	}
	for i, l := range limits {
		if in.Err() == nil && l < 0 {
			in.Fail(document.CodeRange, "limits["+strconv.Itoa(i)+"]", "a limit must not be below zero")
		}
	}
	return limits
}

func calculate(in *document.Reader, out *document.Writer, falseAccept func(ratio, share float64) float64) error {
	units.Of(in, "unit", units.Pressure, units.Length, units.Speed, units.Current, units.Voltage)
	s := Read(in)
	points := in.Numbers("points")
	if in.Err() == nil && (len(points) == 0 || len(points) > mostPoints) {
		in.Fail(document.CodeRange, "points", "from 1 to 1000 points are needed")
	}
	limits := readLimits(in, len(points))
	d := readDemand(in)
	d.falseAccept = falseAccept
	if in.Err() == nil && s.HasFixed && s.Fixed == 0 {
		in.Fail(document.CodeRange, "u", "an uncertainty of zero makes every standard good enough")
	}
	if err := in.Err(); err != nil {
		return err
	}
	enough := true
	out.BeginList("points")
	for i, p := range points {
		enough = s.write(out, p, limits[i], &d) && enough
	}
	out.EndList()
	out.Flag("enough", enough)
	if r, ok := s.Serving(points); ok {
		out.Whole("range", r)
	}
	return nil
}

func (s *Standard) write(out *document.Writer, p, limit float64, d *demand) bool {
	out.Begin()
	defer out.End()
	out.Number("point", p)
	u, index, err := s.Uncertainty(p)
	if err != nil {
		out.Flag("enough", false)
		out.Text("reason", document.AsFault(err).Message)
		return false
	}
	expanded := float64(coverage * u)
	out.Number("u", u)
	out.Number("expanded", expanded)
	ratio := limit / expanded
	out.Number("ratio", ratio)
	if c, ok := s.Correction(p); ok {
		out.Number("correction", c)
	}
	if index >= 0 {
		out.Whole("range", index)
	}
	met := d.met(ratio)
	out.Flag("enough", met)
	return met
}

// Serving returns the range to connect for all points: among the ranges that contain every point,
// the one with the smallest largest uncertainty.
//
// Gives:   the index of the range; ok is false if no single range contains all points, or if the
// uncertainty was given directly.
func (s *Standard) Serving(points []float64) (index int, ok bool) {
	least := math.Inf(1)
	for i := range s.Ranges {
		one := *s
		one.Ranges = s.Ranges[i : i+1]
		largest := 0.0
		holds := !s.HasFixed
		for _, p := range points {
			u, _, err := one.Uncertainty(p)
			holds = holds && err == nil
			largest = max(largest, u)
		}
		if holds && largest < least {
			least, index, ok = largest, i, true
		}
	}
	return index, ok
}
