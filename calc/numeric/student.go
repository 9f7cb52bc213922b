package numeric

import "math"

// The expansion in 1/dof is used from this many degrees of freedom on, and up to this normal value.
// Its next term is below 1e-13, while the continued fraction loses digits in proportion to dof.
const (
	manyDegrees   = 1e4
	expansionEnds = 10
)

// Student is the Student t distribution of one number of degrees of freedom. It keeps what does not
// depend on t, so that several values of one distribution cost little more than one.
type Student struct {
	dof   float64
	shape betaShape // of x = t²/(dof + t²)
}

// NewStudent returns the distribution with dof degrees of freedom.
//
// Takes:   dof > 0, not necessarily whole; +Inf is the normal distribution. With anything else each
// answer is NaN.
func NewStudent(dof float64) Student {
	s := Student{dof: dof}
	if dof > 0 && !math.IsInf(dof, 1) {
		s.shape = shapeOf(0.5, float64(dof/2))
	}
	return s
}

// tail returns the probability above t > 0, the probability between 0 and t, and the density at t
// times t.
func (s *Student) tail(t float64) (upper, central, front float64) {
	square := float64(t * t)
	if math.IsInf(square, 1) {
		return 0, 0.5, 0
	}
	sum := s.dof + square
	x, y := square/sum, s.dof/sum
	front = s.shape.front(x, y)
	if s.dof >= manyDegrees && t < expansionEnds {
		z := studentToNormal(t, s.dof)
		return normalTail(z), float64(0.5 * Erf(z/math.Sqrt2)), front
	}
	inside, outside := s.shape.both(x, y, front)
	return float64(0.5 * outside), float64(0.5 * inside), front
}

// studentToNormal maps a Student value to the normal value of the same probability: the inverse of
// studentFromNormal, by iteration, which gains a factor of dof/t² each time.
func studentToNormal(t, dof float64) float64 {
	z := t
	for range 20 {
		step := t - studentFromNormal(z, dof)
		z += step
		if math.Abs(step) < float64(1e-17*t) {
			break
		}
	}
	return z
}

// studentFromNormal maps a normal value to the Student value of the same probability.
//
// Source: Abramowitz and Stegun 26.7.5 (from memory; tested against the exact quantile).
func studentFromNormal(z, dof float64) float64 {
	z2 := float64(z * z)
	g1 := float64(float64(z*(z2+1)) / 4)
	g2 := float64(z*(float64((float64(5*z2)+16)*z2)+3)) / 96
	g3 := float64(z*(float64((float64((float64(3*z2)+19)*z2)+17)*z2)-15)) / 384
	g4 := float64(z*(float64((float64((float64((float64(79*z2)+776)*z2)+1482)*z2)-1920)*z2)-945)) / 92160
	return z + (g1+(g2+(g3+g4/dof)/dof)/dof)/dof
}

// CDF returns the probability that the variable is at most t; NaN gives NaN.
func (s *Student) CDF(t float64) float64 {
	switch {
	case math.IsNaN(t) || !(s.dof > 0):
		return nan()
	case math.IsInf(s.dof, 1):
		return NormalCDF(t)
	case t == 0:
		return 0.5
	case t > 0:
		upper, _, _ := s.tail(t)
		return 1 - upper
	}
	upper, _, _ := s.tail(-t)
	return upper
}

// StudentTCDF returns NewStudent(dof).CDF(t).
func StudentTCDF(t, dof float64) float64 {
	s := NewStudent(dof)
	return s.CDF(t)
}

// StudentTQuantile returns the value that a Student t variable with dof degrees of freedom stays
// below with probability p.
//
// Takes:   0 < p < 1 and dof > 0 (not necessarily whole; +Inf is the normal distribution); p of 0
// and 1 give ∓Inf, anything else NaN.
// Gives:   the quantile to 3e-12 relative. For a two-sided level P ask at p = (1 + P)/2.
// Source:  closed forms for 1 and 2 degrees of freedom; start from studentFromNormal or from the
// power law of the tail, then guarded Newton steps.
func StudentTQuantile(p, dof float64) float64 {
	switch {
	case !(p >= 0 && p <= 1) || !(dof > 0):
		return nan()
	case p == 0:
		return math.Inf(-1)
	case p == 1:
		return math.Inf(1)
	case p == 0.5:
		return 0
	case p > 0.5:
		return studentUpper(1-p, dof)
	}
	return -studentUpper(p, dof)
}

// studentUpper returns the t > 0 above which the variable lies with probability q < ½.
func studentUpper(q, dof float64) float64 {
	switch {
	case math.IsInf(dof, 1):
		return normalUpper(q)
	case dof == 1:
		if q > 0.25 {
			return Tan(float64(math.Pi * (0.5 - q)))
		}
		return 1 / Tan(float64(math.Pi*q))
	case dof == 2:
		return (1 - float64(2*q)) / math.Sqrt(2*q*(1-q))
	}
	if dof >= manyDegrees {
		if z := normalUpper(q); z < 0.99*expansionEnds {
			return studentFromNormal(z, dof)
		}
	}
	d := NewStudent(dof)
	t := studentStart(q, dof)
	if central := 0.5 - q; central < 0.2 { // exact
		return solve(t, func(t float64) (value, slope float64) {
			if t <= 0 {
				return -central, 1
			}
			_, inside, front := d.tail(t)
			return inside - central, front / t
		})
	}
	// in ln t the logarithm of the tail is nearly straight
	return Exp(solve(Log(t), func(s float64) (value, slope float64) {
		t := Exp(s)
		upper, _, front := d.tail(t)
		return Log(q / upper), float64(front/t*t) / upper
	}))
}

// studentStart guesses the quantile to a few parts in a hundred.
func studentStart(q, dof float64) float64 {
	z := normalUpper(q)
	if float64(z*z) < dof {
		return studentFromNormal(z, dof)
	}
	// far out, the tail is dof^(dof/2 − 1)/B(½, dof/2)·t^−dof
	half := float64(dof / 2)
	logBeta := Lgamma(0.5) + Lgamma(half) - Lgamma(half+0.5)
	s := (float64((half-1)*Log(dof)) - logBeta - Log(q)) / dof
	t := Exp(s)
	if t < z {
		return z
	}
	return t
}
