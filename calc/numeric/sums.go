package numeric

import "math"

// Sum returns the sum of the values with the rounding errors of the additions carried along
// (Neumaier's form of compensated summation).
//
// Takes:   any number of finite values; none gives 0.
// Gives:   a sum whose error is about one rounding, if the sum of magnitudes is below 1e15 times
// the sum.
// Source:  A. Neumaier, ZAMM 54 (1974) 39-51 (from memory).
func Sum(x []float64) float64 {
	var a accumulator
	for _, v := range x {
		a.add(v)
	}
	return a.value()
}

type accumulator struct{ sum, rest float64 }

func (a *accumulator) add(v float64) {
	s := a.sum + v
	if math.Abs(a.sum) >= math.Abs(v) {
		a.rest += (a.sum - s) + v
	} else {
		a.rest += (v - s) + a.sum
	}
	a.sum = s
}

func (a *accumulator) value() float64 { return a.sum + a.rest }

// Mean returns the arithmetic mean, 0 for no values.
func Mean(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	return Sum(x) / float64(len(x))
}

// StdDev returns the sample standard deviation (divisor n − 1), 0 for fewer than two values.
func StdDev(x []float64) float64 {
	if len(x) < 2 {
		return 0
	}
	m := Mean(x)
	var squares, rest accumulator
	for _, v := range x {
		d := v - m
		squares.add(float64(d * d))
		rest.add(d)
	}
	// the second term removes the rounding error of the mean
	r := rest.value()
	ss := squares.value() - float64(r*r)/float64(len(x))
	if ss < 0 {
		return 0
	}
	return math.Sqrt(ss / float64(len(x)-1))
}

// Line is a straight line fitted by least squares.
type Line struct {
	Slope, Intercept           float64
	SlopeError, InterceptError float64 // standard errors from the scatter about the line; 0 with two points
	Residual                   float64 // standard deviation about the line (divisor n − 2); 0 with two points
	MeanX, MeanY               float64
	Sxx                        float64 // sum of (x − mean)²
	SSE                        float64 // sum of the squared residuals
	Residuals                  []float64
	N                          int
}

// At returns the value of the line at x, computed from the means so that a small slope on a large
// value keeps its digits.
func (l *Line) At(x float64) float64 { return l.MeanY + float64(l.Slope*(x-l.MeanX)) }

// LinearFit fits y = intercept + slope·x by ordinary least squares, with sums taken about the
// means.
//
//	slope = Σ(x−x̄)(y−ȳ)/Σ(x−x̄)²,  intercept = ȳ − slope·x̄
//	s² = Σ(residual²)/(n−2),  se(slope) = s/√Sxx,  se(intercept) = s·√(1/n + x̄²/Sxx)
//
// Takes:   x, y of the same length n ≥ 2, finite.
// Gives:   the line; ok is false if the lengths differ, n < 2, or all x are equal.
// Source:  GUM (JCGM 100:2008) H.3.2.
func LinearFit(x, y []float64) (line Line, ok bool) {
	n := len(x)
	if n < 2 || n != len(y) {
		return Line{}, false
	}
	line.N, line.MeanX, line.MeanY = n, Mean(x), Mean(y)
	dx, dy := make([]float64, n), make([]float64, n)
	for i := range x {
		dx[i], dy[i] = x[i]-line.MeanX, y[i]-line.MeanY
	}
	line.Slope, line.Sxx, line.Residuals = SlopeFit(dx, dy)
	if !(line.Sxx > 0) {
		return Line{}, false
	}
	line.Intercept = line.MeanY - float64(line.Slope*line.MeanX)
	line.SSE = squares(line.Residuals)
	if n == 2 {
		return line, true
	}
	line.Residual = math.Sqrt(line.SSE / float64(n-2))
	line.SlopeError = line.Residual / math.Sqrt(line.Sxx)
	line.InterceptError = float64(line.Residual * math.Sqrt(1/float64(n)+float64(line.MeanX*line.MeanX)/line.Sxx))
	return line, true
}

// SlopeFit returns the least-squares slope for points given as differences from their mean, or from
// the mean of their group, with the sum of dx² and the residuals of dy. The slope is NaN if all dx
// are 0.
func SlopeFit(dx, dy []float64) (slope, sxx float64, residuals []float64) {
	var products accumulator
	for i := range dx {
		products.add(float64(dx[i] * dy[i]))
	}
	sxx = squares(dx)
	slope = products.value() / sxx
	residuals = make([]float64, len(dx))
	for i := range dx {
		residuals[i] = dy[i] - float64(slope*dx[i])
	}
	return slope, sxx, residuals
}

// squares returns the sum of the squares.
func squares(x []float64) float64 {
	var a accumulator
	for _, v := range x {
		a.add(float64(v * v))
	}
	return a.value()
}
