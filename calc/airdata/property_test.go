package airdata_test

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
)

// many returns how many random cases a property test makes: a few thousand, or PROPERTY_CASES.
func many(t *testing.T) int {
	t.Helper()
	s := os.Getenv("PROPERTY_CASES")
	if s == "" {
		return 3000
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 {
		t.Fatalf("PROPERTY_CASES must be a number of cases, not %q", s)
	}
	return n
}

// TestInverses checks that altitude and airspeed return from their pressures, within the bounds of
// the contract (0.001 ft, 1e-6 kt, 1e-9 in Mach) and at most 6 Newton iterations up to Mach 3.
func TestInverses(t *testing.T) {
	m := airdata.ISO()
	d := document.Draws(20)
	var feet, knots, machs float64
	most, mostBeyond := 0, 0
	for range 20 * many(t) {
		h := d.Between(-16404, 278385)
		p, err := m.PressureAtFeet(h)
		if err != nil {
			t.Fatal(err)
		}
		back, err := m.Feet(p)
		if err != nil {
			t.Fatal(err)
		}
		feet = math.Max(feet, math.Abs(back-h))

		c := d.Between(0, 3*661)
		if d.Below(4) == 0 {
			c = d.Between(661.4, 661.6) // where the branches meet
		}
		cas, n := m.CAS(m.Impact(c))
		knots = math.Max(knots, math.Abs(cas-c))
		most = max(most, n)

		x := d.Between(0, 3)
		if d.Below(4) == 0 {
			x = d.Between(0.99999, 1.00001)
		}
		mach, n := airdata.Mach(airdata.ImpactOfMach(x, p), p)
		machs = math.Max(machs, math.Abs(mach-x))
		most = max(most, n)
		x = d.Between(3, 900)
		mach, n = airdata.Mach(airdata.ImpactOfMach(x, p), p)
		machs = math.Max(machs, math.Abs(mach-x)/x)
		mostBeyond = max(mostBeyond, n)
	}
	t.Logf(
		"worst: %.3g ft, %.3g kt, %.3g Mach; iterations %d up to Mach 3, %d beyond", feet, knots, machs,
		most, mostBeyond,
	)
	if feet > 0.001 || knots > 1e-6 || machs > 1e-9 || most > 6 || mostBeyond > 6 {
		t.Errorf("outside: %g ft, %g kt, %g Mach, %d and %d iterations", feet, knots, machs, most, mostBeyond)
	}
}

// TestTrend checks what the plans rely on: pressure falls with altitude, impact pressure rises with
// airspeed, and the Mach number rises with both.
func TestTrend(t *testing.T) {
	m := airdata.ISO()
	d := document.Draws(21)
	for range many(t) {
		h, c := d.Between(-16000, 270000), d.Between(0, 1500)
		p, _ := m.PressureAtFeet(h)
		higher, _ := m.PressureAtFeet(h + d.Between(0.01, 5000))
		q, faster := m.Impact(c), m.Impact(c+d.Between(0.001, 50))
		a, _ := airdata.Mach(q, p)
		b, _ := airdata.Mach(q, higher)
		e, _ := airdata.Mach(faster, p)
		if higher >= p || faster <= q || b < a || e <= a {
			t.Fatalf(
				"at %v ft, %v kt: pressures %v %v, impact %v %v, Mach %v %v %v", h, c, p, higher, q, faster, a, b, e,
			)
		}
	}
}

// TestRefusals checks that a question without an answer is refused with its code and field.
func TestRefusals(t *testing.T) {
	for _, c := range []struct{ calculation, in, code, field string }{
		{"airdata", `{}`, "missing", "altitude_ft"},
		{"airdata", `{"altitude_ft":0,"static_pa":101325}`, "conflict", "static_pa"},
		{"airdata", `{"altitude_ft":300000}`, "range", "altitude_ft"},
		{"airdata", `{"altitude_ft":-16405}`, "range", "altitude_ft"},
		{"airdata", `{"static_pa":0}`, "range", "static_pa"},
		{"airdata", `{"static_pa":101325,"total_pa":-1}`, "range", "total_pa"},
		{"airdata", `{"altitude_ft":0,"cas_kt":-1}`, "range", "cas_kt"},
		{"airdata", `{"altitude_ft":0,"cas_kt":1,"mach":1}`, "conflict", "mach"},
		{"airdata", `{"altitude_ft":0,"impact_pa":-5,"cas_rate_kt_min":3}`, "conflict", "cas_rate_kt_min"},
		{"airdata", `{"altitude_ft":0,"elevation_ft":3}`, "missing", "field_pa"},
		{"airdata", `{"altitude_ft":0,"setting_pa":-3}`, "range", "setting_pa"},
		{"airdata", `{"altitude_ft":0,"speed":3}`, "unknown_field", "speed"},
		{"altimeter", `{"test":"scale","altitude_ft":7000,"reading_ft":7000}`, "undecidable", "altitude_ft"},
		{
			"altimeter", `{"test":"friction","altitude_ft":7000,"before_ft":7000,"after_ft":7001}`,
			"undecidable", "altitude_ft",
		},
		{"altimeter", `{"test":"barometric","setting_inhg":29,"reading_ft":1}`, "missing", "reading_at_29_92_ft"},
		{
			"altimeter",
			`{"test":"barometric","setting_inhg":29.1,"reading_ft":1,"reading_at_29_92_ft":1}`,
			"undecidable", "setting_inhg",
		},
		{"altimeter", `{"test":"rvsm","group":"later-full","mean_ft":1,"sigma_ft":-1}`, "range", "sigma_ft"},
		{"altimeter", `{"test":"case-leak","start_ft":18000,"end_ft":17990,"minutes":0}`, "range", "minutes"},
		{"pitot_static_leak", `{"kind":"pitot","start":150,"end":140,"cabin_psi":3}`, "conflict", "cabin_psi"},
		{
			"pitot_static_leak", `{"kind":"pitot","start":150,"end":140,"pressure_change_pa":3}`,
			"conflict", "pressure_change_pa",
		},
		{"pitot_static_leak", `{"kind":"pitot","start":50,"pressure_change_pa":4000}`, "range", "pressure_change_pa"},
		{"pitot_static_leak", `{"kind":"static","start":1000,"end":990,"cabin_psi":14.7}`, "range", "cabin_psi"},
		{"profile", `{"from":{"static_pa":101325,"total_pa":101000},"field_pa":101325,"max_climb_ft_min":1,"max_cas_rate_kt_min":1,"interval_s":1}`, "conflict", "from.total_pa"},
		{
			"profile",
			`{"from":{"altitude_ft":0},"max_climb_ft_min":1,"max_cas_rate_kt_min":1,"interval_s":1}`,
			"missing", "to",
		},
		{"profile", `{"from":{"altitude_ft":0},"to":{"altitude_ft":9},"max_climb_ft_min":0,"max_cas_rate_kt_min":1,"interval_s":1}`, "range", "max_climb_ft_min"},
		{"profile", `{"from":{"altitude_ft":0},"to":{"altitude_ft":90000},"max_climb_ft_min":1,"max_cas_rate_kt_min":1,"interval_s":1}`, "range", "interval_s"},
		{"profile", `{"from":{"altitude_ft":0},"to":{"altitude_ft":30000,"cas_kt":300},"limits":{"max_mach":0.7},"max_climb_ft_min":1000,"max_cas_rate_kt_min":100,"interval_s":1}`, "range", "to"},
		{"profile", `{"from":{"altitude_ft":0},"to":{"altitude_ft":30000},"limits":{"max_altitude_ft":29999},"max_climb_ft_min":1000,"max_cas_rate_kt_min":100,"interval_s":1}`, "range", "to"},
		{"profile", `{"from":{"altitude_ft":5000},"field_pa":108000,"limits":{"min_altitude_ft":-1000},"max_climb_ft_min":1000,"max_cas_rate_kt_min":100,"interval_s":1}`, "range", "field_pa"},
	} {
		var in values
		if err := json.Unmarshal([]byte(c.in), &in); err != nil {
			t.Fatal(err)
		}
		out := call(t, c.calculation, in)
		if code(out) != c.code || out["error"].(values)["field"] != c.field {
			t.Errorf("%s %s: got %v, want %s at %s", c.calculation, c.in, out["error"], c.code, c.field)
		}
	}
}

// TestLimitsInDecimals: a value equal to its limit as written passes, though its binary difference
// would not.
func TestLimitsInDecimals(t *testing.T) {
	out := must(
		t, "altimeter",
		values{"test": "scale", "altitude_ft": "1000", "reading_ft": "1020.3", "tolerance_ft": "20.3"},
	)
	if out["verdict"] != "pass" {
		t.Errorf("1020.3 at 1000 with 20.3: %v", out)
	}
	out = must(t, "pitot_static_leak", values{"kind": "pitot", "start": "150", "end": "139.9999"})
	if out["verdict"] != "fail" {
		t.Errorf("a loss of 10.0001 kt: %v", out)
	}
}

// TestWarnings: limits known from memory say so; a test made at another point than the rule's is
// reported.
func TestWarnings(t *testing.T) {
	for _, c := range []struct {
		calculation string
		in          values
		code        string
	}{
		{"altimeter", values{"test": "scale", "altitude_ft": 1000, "reading_ft": 1000}, airdata.WarnMemory},
		{
			"altimeter",
			values{"test": "barometric", "setting_inhg": 29.92, "reading_at_29_92_ft": 5, "reading_ft": 5},
			airdata.WarnMemory,
		},
		{"altimeter", values{"test": "correspondence", "reported_ft": 1000, "displayed_ft": 1000}, airdata.WarnMemory},
		{
			"altimeter",
			values{
				"test": "hysteresis", "max_altitude_ft": 20000, "altitude_ft": 9000, "ascending_ft": 1,
				"descending_ft": 1,
			},
			airdata.WarnPoint,
		},
		{
			"altimeter",
			values{
				"test": "hysteresis", "max_altitude_ft": 20000, "altitude_ft": 8000, "ascending_ft": 1,
				"descending_ft": 1,
			},
			"",
		},
		{
			"altimeter", values{"test": "case-leak", "start_ft": 18000, "end_ft": 17990, "minutes": 2},
			airdata.WarnMinutes,
		},
		{"pitot_static_leak", values{"kind": "static", "start": 1000, "end": 990}, airdata.WarnMemory},
		{"pitot_static_leak", values{"kind": "pitot", "start": 150, "end": 151}, airdata.WarnRise},
		{"pitot_static_leak", values{"kind": "pitot", "start": 120, "end": 119}, airdata.WarnPoint},
	} {
		got := ""
		if list, ok := must(t, c.calculation, c.in)["warnings"].([]any); ok {
			got = list[0].(values)["code"].(string)
		}
		if got != c.code {
			t.Errorf("%s %v: warning %q, want %q", c.calculation, c.in, got, c.code)
		}
	}
}

func BenchmarkPoint(b *testing.B) {
	m := airdata.ISO()
	sum := 0.0
	for i := range b.N {
		feet, knots := float64(i%60000), float64(i%700)
		p, _ := m.PressureAtFeet(feet)
		q := m.Impact(knots)
		h, _ := m.Feet(p)
		c, _ := m.CAS(q)
		mach, _ := airdata.Mach(q, p)
		sum += h + c + m.TAS(mach, m.Kelvin(feet*0.3048)) + m.EAS(mach, p)
	}
	if math.IsNaN(sum) {
		b.Fatal("not a number")
	}
}

func BenchmarkPlan(b *testing.B) {
	m := airdata.ISO()
	v := airdata.Move{
		From: airdata.Condition{Feet: 35000, Knots: 250}, Climb: 6000, Descent: 6000, KnotRate: 200, Limits: airdata.NoLimits(), Interval: 1, Field: 99000,
	}
	var err error
	if v.To.Feet, err = m.Feet(v.Field); err != nil {
		b.Fatal(err)
	}
	points := 0
	for b.Loop() {
		plan, err := m.PlanMove(v)
		if err != nil {
			b.Fatal(err)
		}
		points += len(plan.Points)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(points), "ns/point")
}
