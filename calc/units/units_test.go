package units_test

import (
	"encoding/json"
	"math"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

func call(t *testing.T, doc string) (value float64, code string) {
	t.Helper()
	calculate := units.Calculations()[0]
	var reply struct {
		Value float64
		Error struct{ Code string }
	}
	if err := json.Unmarshal(calculate.Run([]byte(doc), "test"), &reply); err != nil {
		t.Fatal(err)
	}
	return reply.Value, reply.Error.Code
}

func convert(t *testing.T, number, from, to string) float64 {
	t.Helper()
	v, code := call(t, `{"quantity":"`+number+" "+from+`","to":"`+to+`"}`)
	if code != "" {
		t.Errorf("%s %s to %s: refused, %s", number, from, to, code)
	}
	return v
}

// TestFactors checks that the rounded constant and the fraction of every row agree, that spellings
// are unique, and that a converted number converts back.
func TestFactors(t *testing.T) {
	seen := map[string]bool{}
	for _, u := range units.All() {
		for _, s := range append([]string{u.Name}, u.Spellings...) {
			if seen[s] {
				t.Errorf("%s occurs twice", s)
			}
			seen[s] = true
			if f, ok := units.Find(s); !ok || f.Name != u.Name {
				t.Errorf("%s was found as %q", s, f.Name)
			}
		}
		one := numeric.ExactInt(1)
		diff := u.ExactSI(one).Sub(u.ExactSI(numeric.Exact{}))
		if diff.Float() != u.Factor {
			t.Errorf("%s: fraction %v, factor %v", u.Name, diff.Float(), u.Factor)
		}
		for _, x := range []float64{0.1, 3, 1234.5} {
			if back := u.FromSI(u.ToSI(x)); math.Abs(back-x) > 2e-13*math.Max(x, math.Abs(u.Shift)) {
				t.Errorf("%v %s came back as %v", x, u.Name, back)
			}
			e, _ := numeric.ExactOf(x)
			if u.ExactFromSI(u.ExactSI(e)).Cmp(e) != 0 {
				t.Errorf("%v %s does not come back exactly", x, u.Name)
			}
		}
	}
}

func TestKnown(t *testing.T) {
	for _, c := range []struct {
		number, from, to string
		want             float64
		source           string
	}{
		{"2.5", "bar", "kPa", 250, "definition"},
		{"0", "degC", "degF", 32, "definition"},
		{"-40", "degF", "degC", -40, "definition"},
		{"98.6", "degF", "degC", 37, "definition"},
		{"25", "°C", "K", 298.15, "definition"},
		{"1", "kgf/cm²", "Pa", 98066.5, "definition"},
		{"1e5", "Pa", "bar", 1, "definition"},
		{"1", "mbar.L/s", "Pa.m3/s", 0.1, "definition"},
		{"1", "sccm@0C", "mol/s", 7.43583890091172e-07, "computed independently (scipy), 15 digits"},
		{"1", "sccm@20C", "mol/s", 6.928532818639045e-07, "computed independently (scipy), 16 digits"},
		{"1852", "m/s", "kt", 3600, "definition"},
	} {
		if got := convert(t, c.number, c.from, c.to); math.Abs(got-c.want) > 1e-15*math.Abs(c.want) {
			t.Errorf("%s %s to %s: got %v, want %v (%s)", c.number, c.from, c.to, got, c.want, c.source)
		}
	}
	if v, _ := call(t, `{"quantity":"1 sccm@0C","to":"Pa.m3/s","temperature_k":"273.15"}`); v != 0.00168875 {
		t.Errorf("1 sccm at 0 °C: %v Pa.m3/s, want 0.00168875 (101325e-6/60)", v)
	}
	for doc, want := range map[string]string{
		`{"quantity":"1 sccm@0C","to":"Pa.m3/s"}`: "missing", `{"quantity":"1 bar","to":"m"}`: "unit", `{"quantity":"1 mpa","to":"Pa"}`: "unit",
		`{"quantity":"one bar","to":"Pa"}`: "not_a_number", `{"quantity":"-300 degC","to":"K"}`: "range", `{"quantity":"1,5 bar","to":"Pa"}`: "unit",
		`{"quantity":"1 bar","to":"Pa","temperature_k":300}`: "conflict", `{"quantity":"1e390 bar","to":"Pa"}`: "not_finite",
	} {
		if _, code := call(t, doc); code != want {
			t.Errorf("%s: code %q, want %q", doc, code, want)
		}
	}
}

// TestCompare: equal in decimals means equal in any unit, one digit more does not.
func TestCompare(t *testing.T) {
	for _, c := range []struct {
		a, ua, b, ub string
		want         int
	}{
		{"0.1", "bar", "10", "kPa", 0}, {"0.1", "bar", "10.000000000000000001", "kPa", -1}, {"0.07", "MPa", "0.7", "bar", 0},
		{"760", "Torr", "1", "atm", 0}, {"760", "mmHg", "1", "atm", 1}, {"32", "degF", "0", "degC", 0}, {"1", "in", "25.4", "mm", 0},
		{"1290320000", "psi", "8896443230521", "Pa", 0}, {"-0.30", "bar", "-300", "mbar", 0},
	} {
		ua, _ := units.Find(c.ua)
		ub, _ := units.Find(c.ub)
		if got, ok := units.Compare(c.a, ua, c.b, ub); !ok || got != c.want {
			t.Errorf("%s %s against %s %s: %d, want %d", c.a, c.ua, c.b, c.ub, got, c.want)
		}
	}
}

// theirs maps the names of the check file, and of GNU units, to spellings here.
var theirs = map[string]string{
	"mmHg conventional": "mmHg", "cmHg conventional": "cmHg", "umHg conventional": "umHg", "inHg conventional": "inHg", "inH2O conventional": "inH2O",
	"mmH2O conventional": "mmH2O", "cmH2O conventional": "cmH2O", "mH2O conventional": "mH2O", "ftH2O conventional": "ftH2O",
	"inHg 60 degF": "inHg@60F", "inHg 20 degC": "inHg@20C", "mmHg 20 degC": "mmHg@20C", "inH2O 4 degC": "inH2O@4C",
	"inH2O 4 degC (Tanaka 2001)": "inH2O@4C",
}

func ours(name string) string {
	if s, ok := theirs[name]; ok {
		return s
	}
	return name
}

func TestAgainstChecks(t *testing.T) {
	var file struct {
		Cases []struct {
			ID          string
			Calculation string `json:"calculation"`
			Inputs      struct {
				Value  float64 `json:"from_value"`
				From   string  `json:"from_unit"`
				To     string  `json:"to_unit"`
				Set    string  `json:"factor_set"`
				A      string  `json:"unit_a"`
				B      string  `json:"unit_b"`
				Column float64 `json:"column_density_kg_m3"`
			}
			Expected struct {
				Value   *float64 `json:"to_value"`
				NumN    *int64   `json:"to_value_numerator"`
				DenN    *int64   `json:"to_value_denominator"`
				Differs *float64 `json:"relative_difference_a_over_b_minus_1"`
			}
			Tolerance struct {
				Kind  string
				Value float64
			}
		}
	}
	calctest.Published(t, "metrology", &file)
	n, apart := 0, 0
	for _, c := range file.Cases {
		if c.Calculation != "units" {
			continue
		}
		n++
		if c.Inputs.Set != "" && !strings.HasSuffix(c.ID, "conventional") {
			// The factors of this older set are based on other densities than the units here, which
			// have their own names. Only its conventional rows are the same units.
			apart++
			continue
		}
		switch e := c.Expected; {
		case e.Differs != nil:
			a, b := convert(t, "1", ours(c.Inputs.A), "Pa"), convert(t, "1", ours(c.Inputs.B), "Pa")
			if got := a/b - 1; math.Abs(got-*e.Differs) > c.Tolerance.Value {
				t.Errorf("%s: got %v, want %v", c.ID, got, *e.Differs)
			}
		case e.NumN != nil:
			u, _ := units.Find(c.Inputs.From)
			want, _ := numeric.ExactInt(int(*e.NumN)).Div(numeric.ExactInt(int(*e.DenN)))
			if u.ExactSI(numeric.ExactInt(1)).Cmp(want) != 0 {
				t.Errorf("%s: not the fraction %d/%d", c.ID, *e.NumN, *e.DenN)
			}
		case e.Value != nil:
			got := convert(t, strconv.FormatFloat(c.Inputs.Value, 'g', -1, 64), ours(c.Inputs.From), ours(c.Inputs.To))
			tolerance := c.Tolerance.Value
			if c.Tolerance.Kind == "rel" {
				tolerance *= math.Abs(*e.Value)
			}
			if !(math.Abs(got-*e.Value) <= tolerance) {
				t.Errorf("%s: got %v, want %v within %v", c.ID, got, *e.Value, tolerance)
			}
		default:
			t.Errorf("%s: expects something unknown", c.ID)
		}
	}
	if n == 0 {
		t.Fatal("no case of units")
	}
	t.Logf("%d cases, %d of them of another set of densities", n, apart)
}

// TestAgainstGNUUnits asks the program GNU units, an independent table of definitions.
func TestAgainstGNUUnits(t *testing.T) {
	if runtime.GOOS == "js" {
		t.Skip("a test in WebAssembly runs no other program")
	}
	program, err := exec.LookPath("units")
	if err != nil {
		t.Fatalf("install GNU units (Debian package units): %v", err)
	}
	names := map[string]string{
		"bar": "bar", "psi": "psi", "ksi": "ksi", "psf": "lbf/ft^2", "kgf/cm2": "kgf/cm^2", "atm": "atm", "Torr": "torr", "mmHg": "mmHg", "inHg": "inHg",
		"inHg@60F": "inch Hg60F", "inH2O": "inch water", "ftH2O": "foot water", "dyn/cm2": "dyn/cm^2", "ft": "ft", "in": "inch", "kt": "knot", "mph": "mph",
		"ft/min": "ft/min", "L": "L", "ft3": "ft^3", "in3": "in^3", "lb": "lb", "h": "hour", "mbar.L/s": "mbar L/s", "Torr.L/s": "torr L/s",
	}
	base := map[units.Kind]string{
		units.Pressure: "Pa", units.Length: "m", units.Speed: "m/s", units.Volume: "m^3", units.Mass: "kg",
		units.Time: "s", units.Leak: "Pa m^3/s",
	}
	for name, gnu := range names {
		u, ok := units.Find(name)
		if !ok {
			t.Errorf("%s is missing", name)
			continue
		}
		out, err := exec.Command(program, "-t", "-d", "15", gnu, base[u.Kind]).Output()
		if err != nil {
			t.Errorf("%s as %q: %v %s", name, gnu, err, out)
			continue
		}
		want, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
		if err != nil {
			t.Errorf("%s: %s", name, out)
			continue
		}
		if math.Abs(u.Factor-want) > 1e-14*want { // 15 digits
			t.Errorf("%s: factor %v, GNU units %v", name, u.Factor, want)
		}
	}
}
