// Package numeric holds sums, fits, quantiles, rounding, exact fractions and elementary functions that give the same bits on every machine.
package numeric

import "math"

// Sum returns the sum of the values with the rounding errors of the additions carried along (Neumaier's form of compensated summation).
//
// Takes:   any number of finite values; none gives 0.
// Gives:   a sum whose error is about one rounding, if the sum of magnitudes is below 1e15 times the sum.
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

// Mean returns the arithmetic mean; of no values, 0.
func Mean(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	return Sum(x) / float64(len(x))
}

// StdDev returns the sample standard deviation (divisor n − 1); of fewer than two values, 0.
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
	// the second term removes what the rounding of the mean left
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
	MeanX                      float64
	Sxx                        float64 // sum of (x − mean)²
	N                          int
}

// At returns the height of the line at x.
func (l Line) At(x float64) float64 { return l.Intercept + float64(l.Slope*x) }

// LinearFit fits y = intercept + slope·x by ordinary least squares, with sums taken about the means.
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
	mx, my := Mean(x), Mean(y)
	var sx, sy, sxx, sxy accumulator
	for i := range x {
		dx, dy := x[i]-mx, y[i]-my
		sx.add(dx)
		sy.add(dy)
		sxx.add(float64(dx * dx))
		sxy.add(float64(dx * dy))
	}
	ex, ey := sx.value()/float64(n), sy.value()/float64(n)
	line.N, line.MeanX = n, mx+ex
	line.Sxx = sxx.value() - float64(float64(ex*ex)*float64(n))
	if !(line.Sxx > 0) {
		return Line{}, false
	}
	line.Slope = (sxy.value() - float64(float64(ex*ey)*float64(n))) / line.Sxx
	line.Intercept = (my - float64(line.Slope*mx)) + (ey - float64(line.Slope*ex))
	if n == 2 {
		return line, true
	}
	var ss accumulator
	for i := range x {
		r := (y[i] - my) - float64(line.Slope*(x[i]-mx)) - (ey - float64(line.Slope*ex))
		ss.add(float64(r * r))
	}
	line.Residual = math.Sqrt(ss.value() / float64(n-2))
	line.SlopeError = line.Residual / math.Sqrt(line.Sxx)
	line.InterceptError = float64(line.Residual * math.Sqrt(1/float64(n)+line.MeanX*line.MeanX/line.Sxx))
	return line, true
}
