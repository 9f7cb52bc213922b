package standard

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/uncertainty"
)

// Range is one range of a standard with its specification: half-widths that add up, all in the unit
// of the document.
type Range struct {
	Low, High    float64
	OfReading    float64 // per cent
	OfSpan       float64 // per cent
	Absolute     float64
	StabilityPPM float64 // parts per million of the reading
	K            float64 // coverage factor of the specification; 0: limits of a rectangular distribution
	Resolution   float64 // of its display; 0 if the specification includes it
}

// Point is one point of a standard's own calibration.
type Point struct {
	Applied, Error, Expanded, K float64
	DOF                         float64 // of Expanded/K; 0 if not limited
}

// freedom returns the smaller degrees of freedom of two points, +Inf if neither is limited.
func freedom(a, b Point) float64 {
	least := math.Inf(1)
	for _, p := range [2]Point{a, b} {
		if p.DOF > 0 {
			least = min(least, p.DOF)
		}
	}
	return least
}

// Standard is what is known about a standard.
type Standard struct {
	Fixed        float64 // a standard uncertainty given directly
	FixedDOF     float64 // its degrees of freedom; +Inf if not limited
	HasFixed     bool
	Ranges       []Range
	Points       []Point // rising
	DriftPerYear float64
	YearsSince   float64
	Elsewhere    *Standard // fallback beyond the points of the certificate, or nil
}

// needsFallback reports whether p is outside the certificate's points and a fallback is set.
func (s *Standard) needsFallback(p float64) bool { return s.Elsewhere != nil && !s.Reaches(p) }

// Reaches reports whether the certificate covers a pressure: there are no points, or points on both
// sides of it.
func (s *Standard) Reaches(p float64) bool {
	n := len(s.Points)
	return n == 0 || p >= s.Points[0].Applied && p <= s.Points[n-1].Applied
}

// Out reports whether a standard turned out to be wrong at a pressure: the errors of its later and
// its earlier certificate differ by more than the expanded uncertainty that it was used with. It
// returns false if either certificate does not cover the pressure.
func Out(earlier, later *Standard, p float64) bool {
	if !later.Reaches(p) {
		return false
	}
	was, _ := earlier.Correction(p)
	is, _ := later.Correction(p)
	u, _, err := earlier.Uncertainty(p)
	return err == nil && math.Abs(is-was) > float64(coverage*u)
}

// Part is one contribution to the uncertainty of a standard at a pressure.
type Part struct {
	Code    string // "std", "step", "cert", "interp" or "drift"
	Value   float64
	Shape   uncertainty.Shape
	Divisor float64 // the value over it is the standard uncertainty
	DOF     float64
}

// Parts returns the contributions to the standard's uncertainty at a pressure, and the range that
// serves: the one with the smallest uncertainty.
//
//	specification a = %·|p| + %·span + absolute + ppm·|p|: u = a/k, or a/√3 without a k;  resolution/√12;  certificate u = U/k, interpolated
//	between its points |e_b − e_a| x(1 − x) as a half-width, x the part of the way;  drift·years as a half-width
//
// Takes:   a pressure in the unit of the standard.
// Gives:   the parts, the index of the range (−1 if u was given directly).
// Refuses: Fault range if no range contains the pressure, or if it lies outside the certificate's
// points: nothing is extrapolated.
// Source:  sum of limits as rectangular half-width: GUM (JCGM 100) 4.3.7; linear interpolation
// between the points of a certificate: common practice. That the curve may leave the line by a
// quarter of the step between two points, midway: chosen here.
func (s *Standard) Parts(p float64) (parts []Part, index int, err error) {
	if s.needsFallback(p) {
		return s.Elsewhere.Parts(p)
	}
	if s.HasFixed {
		return []Part{{"std", s.Fixed, uncertainty.Normal, 1, s.FixedDOF}}, -1, nil
	}
	index = -1
	var best Part
	for i, r := range s.Ranges {
		if p < r.Low || p > r.High {
			continue
		}
		a := float64(r.OfReading/100*math.Abs(p)) + float64(r.OfSpan/100*(r.High-r.Low)) + r.Absolute + float64(r.StabilityPPM*1e-6*math.Abs(p))
		one := Part{"std", a, uncertainty.Rectangular, math.Sqrt(3), math.Inf(1)}
		if r.K > 0 {
			one.Shape, one.Divisor = uncertainty.Normal, r.K
		}
		if index < 0 || one.Value/one.Divisor < best.Value/best.Divisor {
			best, index = one, i
		}
	}
	if index < 0 {
		return nil, -1, document.Refuse(
			document.CodeRange, "standard.ranges", "no range of the standard holds the point",
		)
	}
	parts = append(make([]Part, 0, 5), best)
	if r := s.Ranges[index].Resolution; r > 0 {
		parts = append(parts, Part{"step", r, uncertainty.Rectangular, math.Sqrt(12), math.Inf(1)})
	}
	if len(s.Points) > 0 {
		c, err := s.certified(p)
		if err != nil {
			return nil, -1, err
		}
		a, b, x, _ := s.between(p)
		parts = append(parts, Part{"cert", c, uncertainty.Normal, 1, freedom(a, b)})
		if w := float64(math.Abs(b.Error-a.Error) * float64(x*(1-x))); w > 0 {
			parts = append(parts, Part{"interp", w, uncertainty.Rectangular, math.Sqrt(3), math.Inf(1)})
		}
	}
	if s.DriftPerYear != 0 {
		parts = append(
			parts,
			Part{"drift", float64(s.DriftPerYear * s.YearsSince), uncertainty.Rectangular, math.Sqrt(3), math.Inf(1)},
		)
	}
	return parts, index, nil
}

// Uncertainty returns the standard uncertainty of the standard at a pressure, the root of the sum
// of the squares of its parts.
//
// Gives:   u in the unit of the standard and the index of the range, as Parts.
func (s *Standard) Uncertainty(p float64) (u float64, index int, err error) {
	parts, index, err := s.Parts(p)
	if err != nil {
		return 0, -1, err
	}
	if len(parts) == 1 {
		return parts[0].Value / parts[0].Divisor, index, nil
	}
	sum := 0.0
	for _, one := range parts {
		x := one.Value / one.Divisor
		sum += float64(x * x)
	}
	return math.Sqrt(sum), index, nil
}

// certified returns the certificate's uncertainty at a pressure.
func (s *Standard) certified(p float64) (float64, error) {
	a, b, part, ok := s.between(p)
	if !ok {
		return 0, document.Refuse(
			document.CodeRange, "standard.certificate.points",
			"the point lies outside the points of the certificate; nothing is extrapolated",
		)
	}
	ua, ub := a.Expanded/a.K, b.Expanded/b.K
	return ua + float64((ub-ua)*part), nil
}

// Correction returns the correction to add to the standard's reading: minus the error of its
// certificate, interpolated between the points.
//
// Takes:   a reading of the standard in its unit.
// Gives:   the correction; ok is false without a certificate and outside its points.
// Source:  error = indicated − true; linear interpolation: common practice.
func (s *Standard) Correction(p float64) (correction float64, ok bool) {
	if s.needsFallback(p) {
		return s.Elsewhere.Correction(p)
	}
	a, b, part, ok := s.between(p)
	return -(a.Error + float64((b.Error-a.Error)*part)), ok
}

// For returns the standard that serves at a pressure: s itself, or its fallback beyond its own
// points.
func (s *Standard) For(p float64) *Standard {
	if s.needsFallback(p) {
		return s.Elsewhere.For(p)
	}
	return s
}

// SlopeUncertainty returns the standard uncertainty of the slope of the certificate's correction at
// a pressure: that of the line between the two points about it, whose errors count as independent.
// A single point gives 0.
func (s *Standard) SlopeUncertainty(p float64) float64 {
	a, b, _, ok := s.between(p)
	if !ok || a.Applied == b.Applied {
		return 0
	}
	ua, ub := a.Expanded/a.K, b.Expanded/b.K
	return math.Sqrt(float64(ua*ua)+float64(ub*ub)) / (b.Applied - a.Applied)
}

// SlopeStep returns, as a half-width, how far the slope of the correction may deviate from that of
// the straight line between two points of the certificate: the slope of the curve that Parts
// assumes, |e_b − e_a| (1 − 2x)/(p_b − p_a).
func (s *Standard) SlopeStep(p float64) float64 {
	a, b, x, ok := s.between(p)
	if !ok || a.Applied == b.Applied {
		return 0
	}
	return math.Abs(float64((b.Error-a.Error)*(1-float64(2*x)))) / (b.Applied - a.Applied)
}

// between returns the points of the certificate about a pressure, and its position between them as
// a fraction.
func (s *Standard) between(p float64) (a, b Point, part float64, ok bool) {
	n := len(s.Points)
	if n == 0 || p < s.Points[0].Applied || p > s.Points[n-1].Applied {
		return a, b, 0, false
	}
	if n == 1 {
		return s.Points[0], s.Points[0], 0, true
	}
	i := 1
	for p > s.Points[i].Applied {
		i++
	}
	a, b = s.Points[i-1], s.Points[i]
	return a, b, (p - a.Applied) / (b.Applied - a.Applied), true
}

// Read reads a standard from the fields of calculation gauge: u, or ranges with certificate and
// drift.
func Read(in *document.Reader) Standard {
	var s Standard
	if u, ok := in.Optional("u"); ok {
		s.Fixed, s.HasFixed = u, true
		s.FixedDOF = math.Inf(1)
		if dof, ok := in.Optional("dof"); ok {
			s.FixedDOF = dof
			if in.Err() == nil && !(dof >= 1) {
				in.Fail(
					document.CodeRange, "dof", "must be 1 or more; leave it out where the uncertainty is well known",
				)
			}
		}
		if in.Err() == nil && u < 0 {
			in.Fail(document.CodeRange, "u", "must not be below zero")
		}
		return s
	}
	for _, r := range in.List("ranges") {
		s.Ranges = append(s.Ranges, ReadRange(r))
	}
	if in.Err() == nil && len(s.Ranges) == 0 {
		in.Fail(document.CodeMissing, "ranges", "at least one range is needed")
	}
	if c, ok := in.OptionalObject("certificate"); ok {
		s.Points = ReadPoints(c)
	}
	s.DriftPerYear, s.YearsSince = in.NumberOr("drift_per_year", 0), in.NumberOr("years_since", 0)
	if in.Err() == nil && (s.DriftPerYear < 0 || s.YearsSince < 0) {
		in.Fail(document.CodeRange, "drift_per_year", "drift and years must not be below zero")
	}
	return s
}

// ReadRange reads one range with its specification.
func ReadRange(r *document.Reader) Range {
	one := Range{Low: r.Number("low"), High: r.Number("high"), OfReading: r.NumberOr("of_reading_percent", 0), OfSpan: r.NumberOr("of_span_percent", 0),
		Absolute: r.NumberOr("absolute", 0), StabilityPPM: r.NumberOr("stability_ppm", 0), K: r.NumberOr("k", 0), Resolution: r.NumberOr("resolution", 0)}
	switch {
	case r.Err() != nil:
	case one.Low >= one.High:
		r.Fail(document.CodeRange, "high", "must lie above low")
	case below(r, "of_reading_percent", "of_span_percent", "absolute", "stability_ppm", "k", "resolution"):
	case one.OfReading+one.OfSpan+one.Absolute+one.StabilityPPM == 0:
		r.Fail(document.CodeMissing, "absolute", "a range without a specification says nothing of its uncertainty")
	}
	return one
}

// below refuses the first of some terms that is below zero.
func below(r *document.Reader, names ...string) bool {
	for _, name := range names {
		if r.NumberOr(name, 0) < 0 {
			r.Fail(document.CodeRange, name, "the terms of a specification must not be below zero")
			return true
		}
	}
	return false
}

// ReadPoints reads the points of a certificate.
func ReadPoints(c *document.Reader) []Point {
	var list []Point
	for i, p := range c.List("points") {
		one := Point{
			p.Number("applied"), p.NumberOr("error", 0), p.Number("expanded"), p.NumberOr("k", 2),
			p.NumberOr("dof", 0),
		}
		switch {
		case c.Err() != nil:
		case one.K <= 0:
			p.Fail(document.CodeRange, "k", "must be above zero")
		case p.Has("dof") && !(one.DOF >= 1):
			p.Fail(document.CodeRange, "dof", "must be 1 or more; leave it out where the uncertainty is well known")
		case one.Expanded <= 0:
			p.Fail(document.CodeRange, "expanded", "a certificate's uncertainty must be above zero")
		case i > 0 && one.Applied <= list[i-1].Applied:
			p.Fail(document.CodeRange, "applied", "the points must rise")
		}
		list = append(list, one)
	}
	return list
}
