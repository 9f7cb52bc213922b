package numeric_test

import (
	"math"
	"math/big"
	"math/rand/v2"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/calc/numeric"
)

// ratOf draws a number in both forms, of words or longer than words.
func ratOf(t *rapid.T, name string) (numeric.Exact, *big.Rat) {
	text := rapid.StringMatching(`-?[0-9]{1,24}(\.[0-9]{1,12})?`).Draw(t, name)
	x, ok := numeric.ParseExact(text)
	r, good := new(big.Rat).SetString(text)
	if !ok || !good {
		t.Fatalf("%s is not taken", text)
	}
	if rapid.Bool().Draw(t, name+" over") {
		n := rapid.IntRange(1, 1<<40).Draw(t, name+" by")
		x, _ = x.Div(numeric.ExactInt(n))
		r.Quo(r, new(big.Rat).SetInt64(int64(n)))
	}
	return x, r
}

// TestExactAgainstBig compares with math/big: short numbers, long ones, and changes between the two
// forms.
func TestExactAgainstBig(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, p := ratOf(t, "a")
		b, q := ratOf(t, "b")
		for range rapid.IntRange(1, 6).Draw(t, "steps") {
			switch rapid.IntRange(0, 3).Draw(t, "operation") {
			case 0:
				a, p = a.Add(b), new(big.Rat).Add(p, q)
			case 1:
				a, p = a.Sub(b), new(big.Rat).Sub(p, q)
			case 2:
				a, p = a.Mul(b), new(big.Rat).Mul(p, q)
			default:
				if c, ok := a.Div(b); ok {
					a, p = c, new(big.Rat).Quo(p, q)
				} else if q.Sign() != 0 {
					t.Fatal("refused to divide")
				}
			}
			if rapid.Bool().Draw(t, "swap") {
				a, b, p, q = b, a, q, p
			}
		}
		if a.Cmp(b) != p.Cmp(q) || a.Sign() != p.Sign() || a.Neg().Sign() != -p.Sign() ||
			a.Abs().Sign() != p.Sign()*p.Sign() {
			t.Fatalf("order or sign of %s and %s", p, q)
		}
		want, _ := p.Float64()
		if got := a.Float(); got != want {
			t.Fatalf("%s as float64: %v, want %v", p, got, want)
		}
		digits := rapid.IntRange(0, 20).Draw(t, "digits")
		said := p.FloatString(digits)
		if f, err := strconv.ParseFloat(said, 64); err == nil && f == 0 && said[0] == '-' {
			said = said[1:]
		}
		if got := a.Decimal(digits); got != said {
			t.Fatalf("%s with %d digits: %s, want %s", p, digits, got, said)
		}
		text, whole := a.Text(digits)
		back, _ := new(big.Rat).SetString(text)
		if whole != (back.Cmp(p) == 0) {
			t.Fatalf("%s as %s: exact %v", p, text, whole)
		}
	})
}

// Twelve digits of the shortest decimal text, half away from zero. Sums of typed and calculated
// numbers stay short.
func TestTwelve(t *testing.T) {
	for x, want := range map[float64]string{
		0: "0", 0.1: "0.1", 1.0 / 3: "0.333333333333", 2.0 / 3: "0.666666666667", 12345678901.25: "12345678901.3",
		-0.000123456789012345: "-0.000123456789012", 0.1 + 0.2: "0.3", 1e20: "100000000000000000000",
	} {
		if got, _ := numeric.Twelve(x).Text(25); got != want {
			t.Errorf("Twelve(%g) = %s, want %s", x, got, want)
		}
	}
}

// The quick path of Twelve gives the same as the slow one: for random bits, and if nines carry.
func TestTwelveAsRounded(t *testing.T) {
	same := func(x float64) {
		t.Helper()
		want, _ := numeric.ExactOf(numeric.RoundSignificant(x, 12))
		got := numeric.Twelve(x)
		if got.Sub(want).Sign() != 0 {
			t.Fatalf("Twelve(%v) = %v, rounded %v", x, got.Float(), want.Float())
		}
	}
	for _, x := range []float64{
		0, 9.9999999999949, 9.9999999999951, 99999999999.95, 0.99999999999951, 1.00000000000051, -1.2345678901235,
		123456789012.5, 1e30, -4.9e-30,
	} {
		same(x)
		same(-x)
	}
	r := rand.New(rand.NewPCG(12, 1))
	for range 10_000 {
		same(math.Ldexp(r.Float64()-0.5, r.IntN(120)-60))
		same(float64(r.IntN(2_000_000_000_001)-1_000_000_000_000) / 1e7)
		same((r.Float64() - 0.5) * 2000)
	}
}
