package numeric_test

import (
	"math"
	"math/big"
	"math/rand/v2"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"gaugewright/calc/numeric"
)

// ulps is the distance of two float64 in units of the last place.
func ulps(a, b float64) float64 {
	if a == b {
		return 0
	}
	return math.Abs(a-b) / (math.Nextafter(math.Abs(b), math.Inf(1)) - math.Abs(b))
}

// TestElementary compares with package math, whose own functions are within 1 ulp of the truth: two
// such values differ by at most the sum of their errors, so the bound of each row is the documented
// error plus 1.
func TestElementary(t *testing.T) {
	tests := []struct {
		name      string
		got, want func(float64) float64
		low, high float64
		ulps      float64
	}{
		{"Exp", numeric.Exp, math.Exp, -700, 700, 2},
		{"Exp small", numeric.Exp, math.Exp, -1, 1, 2},
		{"Expm1", numeric.Expm1, math.Expm1, -2, 2, 3},
		{"Expm1 wide", numeric.Expm1, math.Expm1, -40, 700, 3},
		{"Expm1 tiny", numeric.Expm1, math.Expm1, -1e-8, 1e-8, 3},
		{"Log", numeric.Log, math.Log, 0.5, 2, 2},
		{"Log wide", numeric.Log, math.Log, 1e-300, 1e300, 2},
		{"Log near 1", numeric.Log, math.Log, 1 - 1e-6, 1 + 1e-6, 2},
		{"Log1p", numeric.Log1p, math.Log1p, -0.9, 5, 2},
		{"Log1p tiny", numeric.Log1p, math.Log1p, -1e-9, 1e-9, 2},
		{"Sin", numeric.Sin, math.Sin, -30, 30, 2},
		{"Cos", numeric.Cos, math.Cos, -30, 30, 2},
		{"Tan", numeric.Tan, math.Tan, -1.5, 1.5, 4}, // math.Tan itself: 2 ulp
		{"Erf", numeric.Erf, math.Erf, -6, 6, 4},
		{"Erfc", numeric.Erfc, math.Erfc, -3, 26, 8}, // math.Erfc far out: exp of a rounded square
	}
	r := rand.New(rand.NewPCG(1, 2))
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			worst, at := 0.0, 0.0
			for range 20000 {
				x := tt.low + r.Float64()*(tt.high-tt.low)
				if u := ulps(tt.got(x), tt.want(x)); !(u <= worst) {
					worst, at = u, x
				}
			}
			if !(worst <= tt.ulps) {
				t.Errorf("%g ulp at %v: got %v, want %v within %g ulp", worst, at, tt.got(at), tt.want(at), tt.ulps)
			}
		})
	}
}

// bigLog returns ln x to 120 bits by the atanh series on square roots.
func bigLog(x float64) *big.Float {
	const prec = 160
	v := new(big.Float).SetPrec(prec).SetFloat64(x)
	scale := 1
	for range 12 {
		v.Sqrt(v)
		scale *= 2
	}
	one := new(big.Float).SetPrec(prec).SetInt64(1)
	s := new(big.Float).SetPrec(prec).Quo(
		new(big.Float).SetPrec(prec).Sub(v, one), new(big.Float).SetPrec(prec).Add(v, one),
	)
	z := new(big.Float).SetPrec(prec).Mul(s, s)
	sum, term := new(big.Float).SetPrec(prec), new(big.Float).SetPrec(prec).Set(s)
	for n := int64(1); n < 60; n += 2 {
		sum.Add(sum, new(big.Float).SetPrec(prec).Quo(term, new(big.Float).SetPrec(prec).SetInt64(n)))
		term.Mul(term, z)
	}
	return sum.Mul(sum, new(big.Float).SetPrec(prec).SetInt64(int64(2*scale)))
}

// bigExp returns e^v by halving and the power series.
func bigExp(v *big.Float) float64 {
	const prec = 200
	r := new(big.Float).SetPrec(prec).SetMantExp(new(big.Float).SetPrec(prec).Set(v), -12)
	sum, term := new(big.Float).SetPrec(prec).SetInt64(1), new(big.Float).SetPrec(prec).SetInt64(1)
	for n := int64(1); n < 40; n++ {
		term.Mul(term, r)
		term.Quo(term, new(big.Float).SetPrec(prec).SetInt64(n))
		sum.Add(sum, term)
	}
	for range 12 {
		sum.Mul(sum, sum)
	}
	x, _ := sum.Float64()
	return x
}

// TestPow compares with series in 160-bit arithmetic; the reference is rounded once, so 2 ulp
// leaves 1.5 for our own.
func TestPow(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	worst := 0.0
	check := func(x, y float64) {
		want := bigExp(new(big.Float).SetPrec(160).Mul(bigLog(x), new(big.Float).SetFloat64(y)))
		u := ulps(numeric.Pow(x, y), want)
		if u > worst {
			worst = u
		}
		if u > 2 {
			t.Errorf("Pow(%v, %v) = %v, want %v (%g ulp)", x, y, numeric.Pow(x, y), want, u)
		}
	}
	for range 3000 {
		check(0.1+1.1*r.Float64(), 5.2558797) // the pressure of the standard atmosphere
		check(0.1+1.1*r.Float64(), -0.19026)
		check(math.Exp(r.Float64()*20-10), r.Float64()*60-30)
	}
	t.Logf("worst %.3g ulp", worst)
	for _, c := range [][3]float64{{2, 10, 1024}, {10, 3, 1000}, {0, 2, 0}, {7, 0, 1}, {1, 1e300, 1}, {4, 0.5, 2}, {2, -2, 0.25}, {2, 5000, math.Inf(1)}, {2, -5000, 0}} {
		if got := numeric.Pow(c[0], c[1]); got != c[2] {
			t.Errorf("Pow(%v, %v) = %v, want %v", c[0], c[1], got, c[2])
		}
	}
}

// TestDistributions compares with gonum, which states no bound of its own; the tolerances are what
// both can reach (its incomplete beta and gamma functions are good to about 1e-13).
func TestDistributions(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	near := func(name string, got, want, tolerance float64, args ...float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tolerance*math.Abs(want)) {
			t.Errorf(
				"%s%v: got %v, want %v, relative difference %g, tolerance %g", name, args, got, want,
				(got-want)/want, tolerance,
			)
		}
	}
	for range 4000 {
		x := math.Exp(r.Float64()*12 - 5)
		lg, _ := math.Lgamma(x)
		if got := numeric.Lgamma(x); math.Abs(got-lg) > 4e-15+2e-15*math.Abs(lg) {
			t.Errorf("Lgamma(%v): got %v, want %v", x, got, lg)
		}
		a, b, u := math.Exp(r.Float64()*9-2), math.Exp(r.Float64()*9-2), r.Float64()
		if want := mathext.RegIncBeta(a, b, u); want > 1e-250 && want < 1 {
			near("BetaInc", numeric.BetaInc(a, b, u), want, 2e-10, a, b, u)
		}
		y := a * (0.3 + 2*r.Float64())
		if want := mathext.GammaIncReg(a, y); want > 1e-250 {
			near("GammaInc", numeric.GammaInc(a, y), want, 1e-11, a, y)
		}
		z := r.Float64()*40 - 36
		near("NormalCDF", numeric.NormalCDF(z), math.Erfc(-z/math.Sqrt2)/2, 4e-13, z) // the reference rounds z/√2
	}
}

// TestQuantiles checks that the distribution of a quantile gives back the probability; the
// distributions are tested above.
func TestQuantiles(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 4000 {
		p := r.Float64()
		if r.IntN(3) == 0 {
			p = math.Pow(10, -12*p)
		}
		dof := math.Exp(r.Float64()*12 - 0.5)
		z := numeric.NormalQuantile(p)
		if back := numeric.NormalCDF(z); math.Abs(back-p) > 4e-15*p*(1+z*z) {
			t.Errorf("normal %v: back %v", p, back)
		}
		x := numeric.StudentTQuantile(p, dof)
		if back := numeric.StudentTCDF(x, dof); math.Abs(back-p) > (1e-13+2.3e-16*math.Min(dof, 1e4))*p*(1+math.Abs(math.Log(p))) { // the fraction loses dof roundings, ln t one per e-fold
			t.Errorf("t %v %v: %v, back %v", p, dof, x, back)
		}
		if p < 1-1e-9 {
			c := numeric.ChiSquareQuantile(p, dof)
			if back := numeric.ChiSquareCDF(c, dof); math.Abs(back-p) > 1e-11*p {
				t.Errorf("chi-square %v %v: %v, back %v", p, dof, c, back)
			}
		}
		a, b := math.Exp(r.Float64()*6-1), math.Exp(r.Float64()*6-1)
		q := numeric.BetaQuantile(p, a, b)
		if back := numeric.BetaInc(a, b, q); math.Abs(back-p) > 1e-11*p {
			t.Errorf("beta %v %v %v: %v, back %v", p, a, b, q, back)
		}
	}
}

// TestStudentKnown compares with the closed form at 4 degrees of freedom (from memory) and with
// gonum within its accuracy, and checks the seam at 1e4.
func TestStudentKnown(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for range 2000 {
		p := 0.5 + 0.4999*r.Float64()
		a := 4 * p * (1 - p)
		four := 2 * math.Sqrt(math.Cos(math.Acos(math.Sqrt(a))/3)/math.Sqrt(a)-1)
		if got := numeric.StudentTQuantile(p, 4); math.Abs(got-four) > 1e-10*four+1e-9*math.Abs(p-0.5) {
			t.Errorf("4 degrees, %v: got %v, want %v", p, got, four)
		}
		dof := 1 + math.Floor(60*r.Float64())
		want := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(p)
		if got := numeric.StudentTQuantile(p, dof); math.Abs(got-want) > 1e-8*want {
			t.Errorf("%v degrees, %v: got %v, gonum %v", dof, p, got, want)
		}
		// the seam between the two methods, at a thousandth of a degree of freedom: the change there is
		// z(z²+1)/4·1e-11
		below, above := numeric.StudentTQuantile(p, 9999.999), numeric.StudentTQuantile(p, 10000)
		z := numeric.NormalQuantile(p)
		if change := z * (z*z + 1) / 4 * 1e-11; math.Abs(below-above-change) > 1e-12*(below+0.1) {
			t.Errorf("seam at %v: %v %v", p, below, above)
		}
	}
	// computed independently with mpmath 1.3.0 at 60 digits (root of the incomplete beta function)
	for _, c := range studentKnown {
		if got := numeric.StudentTQuantile(c[0], c[1]); math.Abs(got-c[2]) > 1e-12*c[2] {
			t.Errorf("p %v dof %v: got %v, want %v, relative %g", c[0], c[1], got, c[2], got/c[2]-1)
		}
	}
}

func TestFitAndSpread(t *testing.T) {
	// computed by hand: y = 1 + 2x with residuals +1 −2 +1 scaled by 1e-3
	x, y := []float64{-1, 0, 1}, []float64{-1 + 1e-3, 1 - 2e-3, 3 + 1e-3}
	l, ok := numeric.LinearFit(x, y)
	if !ok || math.Abs(l.Slope-2) > 1e-15 || math.Abs(l.Intercept-1) > 1e-15 || math.Abs(l.Residual-math.Sqrt(6e-6)) > 1e-15 ||
		math.Abs(l.SlopeError-math.Sqrt(3e-6)) > 1e-15 || math.Abs(l.InterceptError-math.Sqrt(2e-6)) > 1e-15 {
		t.Errorf("%+v", l)
	}
	if _, ok := numeric.LinearFit([]float64{1, 1}, []float64{1, 2}); ok {
		t.Error("a line through one place")
	}
	// a large offset: the sample variance of 1e9+{4,7,13,16} is 30
	if sd := numeric.StdDev([]float64{1e9 + 4, 1e9 + 7, 1e9 + 13, 1e9 + 16}); math.Abs(sd-math.Sqrt(30)) > 1e-14 {
		t.Errorf("sd %v", sd)
	}
	if s := numeric.Sum([]float64{1, 1e100, 1, -1e100}); s != 2 {
		t.Errorf("sum %v", s)
	}
}

func TestExact(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for range 3000 {
		x := math.Float64frombits(r.Uint64())
		if math.IsNaN(x) || math.IsInf(x, 0) {
			continue
		}
		e, ok := numeric.ExactOf(x)
		if !ok || e.Float() != x {
			t.Fatalf("%v came back as %v", x, e.Float())
		}
		// random fractions against math/big
		a, b := r.Int64N(1<<60)-(1<<59), r.Int64N(1<<60)+1
		q, _ := numeric.ExactInt(int(a)).Div(numeric.ExactInt(int(b)))
		want, _ := new(big.Rat).SetFrac64(a, b).Float64()
		if q.Float() != want {
			t.Fatalf("%d/%d: got %v, want %v", a, b, q.Float(), want)
		}
		if got, want := q.Decimal(12), new(big.Rat).SetFrac64(a, b).FloatString(12); got != want &&
			got != "0.000000000000" {
			t.Fatalf("%d/%d: got %s, want %s", a, b, got, want)
		}
	}
	for _, c := range []struct {
		x      float64
		digits int
		want   string
	}{
		{2.675, 2, "2.68"}, {-2.675, 2, "-2.68"}, {0.5, 0, "1"}, {-0.4, 0, "0"}, {1.005, 2, "1.01"},
		{1e21, 1, "1000000000000000000000.0"}, {0.05, 1, "0.1"},
	} {
		if got := numeric.FormatDecimals(c.x, c.digits); got != c.want {
			t.Errorf("%v to %d: got %s, want %s", c.x, c.digits, got, c.want)
		}
		want, _ := strconv.ParseFloat(c.want, 64)
		if got := numeric.RoundDecimals(c.x, c.digits); got != want {
			t.Errorf("%v to %d: got %v, want %v", c.x, c.digits, got, want)
		}
	}
	if got := numeric.RoundDecimals(12345, -2); got != 12300 {
		t.Errorf("got %v", got)
	}
	if got := numeric.RoundSignificant(0.00123455, 5); got != 0.0012346 {
		t.Errorf("got %v", got)
	}
	for _, c := range []struct {
		a, b string
		want int
	}{{"2.50", "2.5", 0}, {"0.1", "0.10000000000000001", -1}, {"-1", "1e-9", -1}, {"25e-1", "2.5", 0}, {"-0", "0", 0}} {
		if got, ok := numeric.CompareDecimals(c.a, c.b); !ok || got != c.want {
			t.Errorf("%s against %s: %d %v", c.a, c.b, got, ok)
		}
	}
	for _, s := range []string{"", ".", "1e", "1e999", "--1", "1.2.3", "0x1", "1 ", "+", "1e+-3"} {
		if _, ok := numeric.ParseExact(s); ok {
			t.Errorf("%q was taken", s)
		}
	}
	for s, want := range map[string]int{"2.50": 2, "25e-3": 3, "250": 0, "2.5e1": 0, "-0.001": 3} {
		if got := numeric.DecimalPlaces(s); got != want {
			t.Errorf("%s: %d places, want %d", s, got, want)
		}
	}
}

func BenchmarkStudentTQuantile(b *testing.B) {
	for i := range b.N {
		numeric.StudentTQuantile(0.97725, float64(3+i%40))
	}
}

func BenchmarkPow(b *testing.B) {
	for i := range b.N {
		numeric.Pow(0.5+float64(i%64)/100, 5.2558797)
	}
}
