package gauge

import (
	"math"

	"gaugewright/calc/numeric"
)

// Line is a straight line through the mean indications, with their largest deviation from it.
type Line struct{ Slope, Intercept, MaxDeviation float64 }

// Lines holds the four straight lines of conformity.
type Lines struct{ Best, LeastSquares, Terminal, ZeroBased Line }

// Straight fits the lines.
//
//	best: least largest deviation (minimax);  least squares;  terminal: through the first and the last point;  zero-based: through the first
//	point with the least largest deviation
//
// Takes:   two or more points with rising x.
// Gives:   the lines, each with its largest deviation, the least-squares line as well.
// Source:  IEC 61298-2 terms (from memory). The minimax line has the slope of an edge of the
// points' convex hull.
func Straight(x, y []float64) Lines {
	var l Lines
	n := len(x)
	l.Terminal = through(x, y, (y[n-1]-y[0])/(x[n-1]-x[0]))
	l.LeastSquares = leastSquares(x, y)
	l.Best = minimax(x, y)
	l.ZeroBased = zeroBased(x, y)
	return l
}

// through returns the line with a given slope through the first point.
func through(x, y []float64, slope float64) Line {
	l := Line{Slope: slope, Intercept: y[0] - float64(slope*x[0])}
	for i := range x {
		l.MaxDeviation = max(l.MaxDeviation, math.Abs(y[i]-y[0]-float64(slope*(x[i]-x[0]))))
	}
	return l
}

// apart returns the largest deviation from a line through the first point, from which runs and
// rises are counted.
func apart(run, rise []float64, slope float64) float64 {
	most := 0.0
	for i, x := range run {
		if d := math.Abs(rise[i] - float64(slope*x)); d > most || d != d {
			most = d
		}
	}
	return most
}

func leastSquares(x, y []float64) Line {
	fit, _ := numeric.LinearFit(x, y)
	l := Line{Slope: fit.Slope, Intercept: fit.Intercept}
	for _, r := range fit.Residuals {
		l.MaxDeviation = max(l.MaxDeviation, math.Abs(r))
	}
	return l
}

// hull returns the indices of the lower (sign 1) or upper (sign −1) convex hull.
func hull(x, y []float64, sign float64) []int {
	var h []int
	for i := range x {
		for len(h) >= 2 {
			a, b := h[len(h)-2], h[len(h)-1]
			cross := float64((x[b]-x[a])*(y[i]-y[a])) - float64((y[b]-y[a])*(x[i]-x[a]))
			if float64(sign*cross) > 0 {
				break
			}
			h = h[:len(h)-1]
		}
		h = append(h, i)
	}
	return h
}

func minimax(x, y []float64) Line {
	best := Line{MaxDeviation: math.Inf(1)}
	for _, sign := range []float64{1, -1} {
		h := hull(x, y, sign)
		for i := 1; i < len(h); i++ {
			slope := (y[h[i]] - y[h[i-1]]) / (x[h[i]] - x[h[i-1]])
			low, high := math.Inf(1), math.Inf(-1)
			for j := range x {
				r := y[j] - float64(slope*x[j])
				low, high = min(low, r), max(high, r)
			}
			if width := float64((high - low) / 2); width < best.MaxDeviation {
				best = Line{slope, float64((high + low) / 2), width}
			}
		}
	}
	return best
}

// zeroBased finds the slope by ternary search: the largest deviation is a convex, piecewise linear
// function of it.
func zeroBased(x, y []float64) Line {
	low, high := math.Inf(1), math.Inf(-1)
	for i := 1; i < len(x); i++ {
		s := (y[i] - y[0]) / (x[i] - x[0])
		low, high = min(low, s), max(high, s)
	}
	rise, run := make([]float64, len(x)), make([]float64, len(x))
	for i := range x {
		rise[i], run[i] = y[i]-y[0], x[i]-x[0]
	}
	for range 120 {
		third := (high - low) / 3
		a, b := low+third, high-third
		if apart(run, rise, a) < apart(run, rise, b) {
			if high == b {
				break // and nothing will change any more
			}
			high = b
		} else {
			if low == a {
				break
			}
			low = a
		}
	}
	return through(x, y, float64((low+high)/2))
}
