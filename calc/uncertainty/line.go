package uncertainty

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// LinePoint is a point of a straight line with the standard uncertainties of both its coordinates
// and their correlation.
type LinePoint struct{ X, Y, UX, UY, R float64 }

// StraightLine is y = intercept + slope x.
type StraightLine struct {
	Intercept, Slope   float64
	UIntercept, USlope float64
	Correlation        float64 // of intercept and slope
	DOF                float64 // of the uncertainties; +Inf if they follow from those of the points
	S                  float64 // residual standard deviation, if the uncertainties follow from it
	ChiSquared         float64 // Σ W (y − intercept − slope x)², if the points state uncertainties
	Freedom            float64 // n − 2
	Steps              int     // of the iteration
}

// mostSteps bounds the iteration, which usually takes ten steps.
const mostSteps = 200

// FitLine fits a straight line.
//
//	without uncertainties: ordinary least squares, s² = SSE/(n − 2)
//	with them: W = 1/(u_y² + b² u_x² − 2 b r u_x u_y), β = W((x − X̄) u_y² + b (y − Ȳ) u_x² − (b(x − X̄) + y − Ȳ) r u_x u_y)
//	b = ΣWβ(y − Ȳ)/ΣWβ(x − X̄), repeated until it rests;  u_b² = 1/ΣW(ξ − ξ̄)², u_a² = 1/ΣW + ξ̄² u_b², ξ = X̄ + β
//
// Takes:   at least three points that differ in x; either none has an uncertainty, or each has u_y
// or u_x above zero.
// Gives:   the line.
// Refuses: Fault shape for points at one x; undecidable if the iteration does not converge.
// Source:  GUM (JCGM 100:2008) H.3; York, Evensen, Martínez and Delgado, Am. J. Phys. 72 (2004) 367
// (from memory), in the form that bears u_x = 0.
func FitLine(points []LinePoint) (StraightLine, error) {
	x, y := make([]float64, len(points)), make([]float64, len(points))
	weighted := false
	for i, p := range points {
		x[i], y[i] = p.X, p.Y
		weighted = weighted || p.UX > 0 || p.UY > 0
	}
	o, ok := numeric.LinearFit(x, y)
	if !ok {
		return StraightLine{}, document.Refuse(
			document.CodeShape, "points", "the points lie at one x: no line goes through them",
		)
	}
	l := StraightLine{Intercept: o.Intercept, Slope: o.Slope, DOF: math.Inf(1), Freedom: float64(len(points) - 2)}
	if !weighted {
		xx := make([]float64, len(x))
		for i := range x {
			xx[i] = float64(x[i] * x[i])
		}
		l.DOF, l.S, l.USlope = l.Freedom, o.Residual, o.SlopeError
		l.UIntercept = float64(o.SlopeError * math.Sqrt(numeric.Sum(xx)/float64(len(x))))
		if l.UIntercept > 0 {
			l.Correlation = -float64(o.MeanX*l.USlope) / l.UIntercept
		}
		return l, nil
	}
	for l.Steps = 1; ; l.Steps++ {
		before := l.Slope
		l.york(points)
		if math.Abs(l.Slope-before) <= float64(1e-14*math.Abs(l.Slope)) || l.Slope == before {
			return l, nil
		}
		if l.Steps == mostSteps || math.IsNaN(l.Slope) {
			return l, document.Refuse(
				document.CodeUndecidable, "points",
				"the points do not settle on one line: look at their uncertainties",
			)
		}
	}
}

// york takes one step of the iteration from the present slope of the line.
func (l *StraightLine) york(points []LinePoint) {
	n, b := len(points), l.Slope
	w, wx, wy := make([]float64, n), make([]float64, n), make([]float64, n)
	for i, p := range points {
		v := float64(p.UY*p.UY) + float64(float64(b*b)*float64(p.UX*p.UX)) - float64(2*float64(b*p.R)*float64(p.UX*p.UY))
		w[i] = 1 / v
		wx[i], wy[i] = float64(w[i]*p.X), float64(w[i]*p.Y)
	}
	sum := numeric.Sum(w)
	mx, my := numeric.Sum(wx)/sum, numeric.Sum(wy)/sum
	beta, up, down := make([]float64, n), make([]float64, n), make([]float64, n)
	for i, p := range points {
		u, v := p.X-mx, p.Y-my
		beta[i] = float64(w[i] * (float64(u*float64(p.UY*p.UY)) + float64(float64(b*v)*float64(p.UX*p.UX)) - float64(
			float64((float64(b*u)+v)*p.R)*float64(p.UX*p.UY),
		)))
		up[i], down[i] = float64(float64(w[i]*beta[i])*v), float64(float64(w[i]*beta[i])*u)
	}
	l.Slope = numeric.Sum(up) / numeric.Sum(down)
	l.Intercept = my - float64(l.Slope*mx)
	for i := range beta {
		wx[i] = float64(w[i] * beta[i])
	}
	mean := numeric.Sum(wx) / sum // of β
	for i, p := range points {
		d := beta[i] - mean
		up[i] = float64(w[i] * float64(d*d))
		e := p.Y - l.Intercept - float64(l.Slope*p.X)
		down[i] = float64(w[i] * float64(e*e))
	}
	at := mx + mean
	square := 1 / numeric.Sum(up)
	l.USlope = math.Sqrt(square)
	l.UIntercept = math.Sqrt(1/sum + float64(float64(at*at)*square))
	l.Correlation = -float64(at*l.USlope) / l.UIntercept
	l.ChiSquared = numeric.Sum(down)
}

// At returns the line at an x, and its standard uncertainty there.
//
//	u² = u_a² + x² u_b² + 2 x r u_a u_b
func (l *StraightLine) At(x float64) (y, u float64) {
	square := float64(l.UIntercept*l.UIntercept) + float64(float64(x*x)*float64(l.USlope*l.USlope)) + float64(
		2*float64(x*l.Correlation)*float64(l.UIntercept*l.USlope),
	)
	return l.Intercept + float64(l.Slope*x), math.Sqrt(max(0, square))
}

// calculateLine is the calculation line: {points: [{x, y, ux?, uy?, r?}], at?, coverage?} → the
// line, its uncertainties and its values.
func calculateLine(in *document.Reader, out *document.Writer) error {
	var points []LinePoint
	stated := 0
	for _, one := range in.List("points") {
		p := LinePoint{
			X: one.Number("x"), Y: one.Number("y"), UX: one.NumberOr("ux", 0), UY: one.NumberOr("uy", 0),
			R: one.NumberOr("r", 0),
		}
		switch {
		case in.Err() != nil:
		case p.UX < 0 || p.UY < 0:
			one.Fail(document.CodeRange, "uy", "an uncertainty must not be below zero")
		case !(p.R > -1 && p.R < 1):
			one.Fail(document.CodeRange, "r", "must lie between -1 and 1")
		}
		if p.UX > 0 || p.UY > 0 {
			stated++
		}
		points = append(points, p)
	}
	var at []float64
	if in.Has("at") {
		at = in.Numbers("at")
	}
	coverage, asked := in.Optional("coverage")
	switch {
	case in.Err() != nil:
	case len(points) < 3 || len(points) > 10000:
		in.Fail(document.CodeShape, "points", "from 3 to 10000 points are needed")
	case stated != 0 && stated != len(points):
		in.Fail(document.CodeMissing, "points", "some points state an uncertainty and others none")
	case asked && !(coverage > 0 && coverage < 1):
		in.Fail(document.CodeRange, "coverage", "must be between 0 and 1")
	}
	if err := in.Err(); err != nil {
		return err
	}
	l, err := FitLine(points)
	if err != nil {
		return err
	}
	k := factor(coverage, l.DOF)
	out.Number("intercept", l.Intercept)
	out.Number("slope", l.Slope)
	out.Number("u_intercept", l.UIntercept)
	out.Number("u_slope", l.USlope)
	out.Number("correlation", l.Correlation)
	if stated == 0 {
		out.Number("s", l.S)
		out.Number("dof", l.DOF)
	} else {
		out.Number("chi_squared", l.ChiSquared)
		out.Number("chi_probability", 1-numeric.ChiSquareCDF(l.ChiSquared, l.Freedom))
	}
	out.Number("k", k)
	out.BeginList("at")
	for _, x := range at {
		y, u := l.At(x)
		out.Begin()
		out.Number("x", x)
		out.Number("y", y)
		out.Number("u", u)
		out.Number("expanded", float64(k*u))
		out.End()
	}
	out.EndList()
	out.BeginList("warnings")
	if stated != 0 && 1-numeric.ChiSquareCDF(l.ChiSquared, l.Freedom) < 0.05 {
		out.Warn("scatter", "points", "the points scatter more about the line than their uncertainties allow ("+strconv.Itoa(len(points))+" points): one of them, or the straight line, is wrong")
	}
	out.EndList()
	return nil
}
