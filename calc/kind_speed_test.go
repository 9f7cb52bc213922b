package calc_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"gaugewright/calc"
)

// longSheets are sheets of the kinds with a trace of 10,000 samples each.
func longSheets(tb testing.TB) map[string][]byte {
	tb.Helper()
	const n = 10000
	random := rand.New(rand.NewPCG(3, 4))
	round := func(x float64, digits int) json.Number { return json.Number(strconv.FormatFloat(x, 'f', digits, 64)) }
	var t, leakP, temperature, switchP, burstP []json.Number
	contact := make([]byte, n)
	on := false
	for i := range n {
		t = append(t, round(float64(i)*0.1, 1))
		leakP = append(leakP, round(400-0.0005*float64(i)*0.1+random.NormFloat64()*0.002, 3))
		temperature = append(temperature, round(20+random.NormFloat64()*0.005, 2))
		swing := float64(i%2000) / 1000
		if swing > 1 {
			swing = 2 - swing
		}
		p := 1.2 + 0.5*swing + random.NormFloat64()*0.001
		on = p > 1.5 || on && p > 1.4
		contact[i] = '0'
		if on {
			contact[i] = '1'
		}
		switchP = append(switchP, round(p, 4))
		b := 0.5 + 0.0001*float64(i)*0.53
		if i > n-200 {
			b = 0.02
		}
		burstP = append(burstP, round(b+random.NormFloat64()*0.0005, 4))
	}
	leak := leakSheet(object{"measure_s": 999, "every_s": 1, "limit_pa_s": 1}, object{"volume_m3": "0.001"}, nil)
	leak["traces"] = []any{object{"step": "p1", "unit": "kPa", "t_s": t, "p": leakP, "temperature_c": temperature}}
	sw := switchSheet(5, object{"acts": "rising", "nominal": "1.5", "tolerance": "0.02"})
	sw["method"].(object)["rate"] = "0.005"
	sw["traces"] = []any{object{"step": "k1.trace", "unit": "bar", "t_s": t, "p": switchP, "contact": string(contact)}}
	burst := burstSheet(1, object{"marked": "1"})
	burst["method"].(object)["rate"] = "0.00053"
	burst["traces"] = []any{object{"step": "d1", "unit": "bar", "t_s": t, "p": burstP}}
	all := map[string][]byte{}
	for name, sheet := range map[string]object{"leak": leak, "switch": sw, "burst": burst} {
		b, err := json.Marshal(sheet)
		if err != nil {
			tb.Fatal(err)
		}
		all[name] = b
		if out := calc.Call("evaluate", b); bytes.HasPrefix(out, []byte(`{"error":`)) {
			tb.Fatalf("%s: %s", name, out)
		}
	}
	return all
}

// BenchmarkLongTrace: the goal is 5 ms for the evaluation of a trace of 10,000 samples.
func BenchmarkLongTrace(b *testing.B) {
	all := longSheets(b)
	for _, name := range []string{"leak", "switch", "burst"} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				calc.Call("evaluate", all[name])
			}
		})
	}
}

// TestLongTrace: a burst and five cycles are found among 10,000 samples. SHEETS in the environment
// is a folder to which the sheets, and that of a gauge, are written for
// webapp/e2e/evaluate-figures.mjs.
func TestLongTrace(t *testing.T) {
	all := longSheets(t)
	if folder := os.Getenv("SHEETS"); folder != "" {
		sheets := maps.Clone(all)
		sheets["gauge"] = wholeGauge()
		for name, sheet := range sheets {
			if err := errors.Join(os.MkdirAll(folder, 0o755), os.WriteFile(filepath.Join(folder, name), sheet, 0o644)); err != nil {
				t.Fatal(err)
			}
		}
	}
	for name, want := range map[string]func(out object) bool{
		"leak": func(o object) bool { return phaseOf(t, o, 0)["verdict"] == "pass" && o["verdict"] == "pass" },
		"switch": func(o object) bool {
			return contactsOf(t, o)[0].(object)["set"].(object)["n"] == 5.0 && o["verdict"] == "pass"
		},
		"burst": func(o object) bool { return discsOf(t, o)[0].(object)["burst"] == true },
	} {
		var out object
		if err := json.Unmarshal(calc.Call("evaluate", all[name]), &out); err != nil {
			t.Fatal(err)
		}
		if !want(out) {
			t.Errorf("%s: %v %v %v", name, out["verdict"], out["reason"], out["missing"])
		}
	}
}

// TestLiveKindKeepsItsConfidence looks at the sheet of a leak test after every reading, as a phone
// does: the first decision marked as certain may be wrong in at most 5 % of the tests. True rates
// lie just beside the limit. TESTS in the environment makes it longer: 10000.
func TestLiveKindKeepsItsConfidence(t *testing.T) {
	tests := 24
	if s := os.Getenv("TESTS"); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 {
			t.Fatalf("TESTS=%q", s)
		}
		tests = n
	}
	const readings = 60
	random := rand.New(rand.NewPCG(5, 6))
	wrong, decided, saved := 0, 0, 0
	for i := range tests {
		truth := 0.09 // Pa/s
		if i%2 == 1 {
			truth = 0.11
		}
		var list bytes.Buffer
		for j := range readings {
			p := 400000 - truth*float64(j)*5 + random.NormFloat64()*0.3
			if j > 0 {
				list.WriteByte(',')
			}
			fmt.Fprintf(
				&list,
				`{"step":"p1","of":"indicated","unit":"Pa","value":"%.2f","at":"2026-03-04T08:%02d:%02dZ"}`,
				p, j/12, j%12*5,
			)
			if j < 3 {
				continue
			}
			doc := fmt.Sprintf(`{"method":{"kind":"leak","temperature":"none","barometer":"none","drift_k":0,"drift_pa_h":0,"phases":[{"name":"p","pressure":"400000","measure_s":295,"every_s":5,"limit_pa_s":0.1}]},`+
				`"instrument":{"low":0,"high":700000,"unit":"Pa","mode":"gauge","resolution":"0.01"},"captures":[%s],"complete":false}`, list.Bytes())
			var out struct {
				Leak struct {
					Phases []struct {
						Live struct {
							Certain bool `json:"certain_now"`
							Verdict string
						}
					}
				}
			}
			if err := json.Unmarshal(calc.Call("evaluate", []byte(doc)), &out); err != nil ||
				len(out.Leak.Phases) != 1 {
				t.Fatalf("%s: %v", doc, err)
			}
			if live := out.Leak.Phases[0].Live; live.Certain {
				decided++
				saved += readings - 1 - j
				if (live.Verdict == "pass") != (truth < 0.1) {
					wrong++
				}
				break
			}
		}
	}
	t.Logf(
		"%d of %d tests decided early, %d wrong (%.2f %%), %.0f %% of the readings saved", decided, tests,
		wrong, 100*float64(wrong)/float64(tests), 100*float64(saved)/float64(tests*readings),
	)
	if decided < tests/4 {
		t.Errorf("only %d of %d tests decided early: the live decision is of no use", decided, tests)
	}
	if float64(wrong) > 0.05*float64(tests) {
		t.Errorf("%d of %d early decisions were wrong, more than 5 %%", wrong, tests)
	}
}
