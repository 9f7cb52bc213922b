package demo_test

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/certificates"
	"gaugewright/server/plant"
)

// worked gives the finding of a visit's run with other captures, as the calculations judge them; nil
// if they refuse them.
func worked(t *testing.T, v *plant.Visit, run *plant.Run, captures []plant.Capture) *plant.Finding {
	t.Helper()
	other := *run
	other.Captures = captures
	sheet, err := v.Sheet(&other, true)
	if err != nil {
		t.Fatal(err)
	}
	raw := calc.Call("evaluate", sheet)
	var refused struct{ Error any }
	if err := json.Unmarshal(raw, &refused); err != nil {
		t.Fatal(err)
	}
	if refused.Error != nil {
		return nil
	}
	var f plant.Finding
	if err := json.Unmarshal(raw, &f); err != nil {
		t.Fatal(err)
	}
	f.Raw = raw
	return &f
}

// isReading reports whether a capture is a number that was read.
func isReading(c *plant.Capture) bool {
	_, err := strconv.ParseFloat(string(c.Value), 64)
	return err == nil && c.Unit != "" && c.File == nil
}

// moved multiplies the reading of a capture, with the decimals that it has.
func moved(c plant.Capture, by float64) plant.Capture {
	x, _ := strconv.ParseFloat(string(c.Value), 64)
	decimals := 0
	if i := slices.Index([]byte(c.Value), '.'); i >= 0 {
		decimals = len(c.Value) - i - 1
	}
	c.Value = plant.Decimal(strconv.FormatFloat(x*by, 'f', decimals, 64))
	return c
}

// outcome changes readings of a paper's run as found until the calculations judge it as wanted, by as
// little as that takes: one of them, or all in a row as by a leak. It is false if nothing leads there.
func outcome(t *testing.T, in certificates.Input, verdict string) (certificates.Input, bool) {
	t.Helper()
	run := *in.Found
	try := func(captures []plant.Capture) bool {
		f := worked(t, &in.Visit, &run, captures)
		if f == nil || f.Verdict != verdict {
			return false
		}
		run.Captures, run.Finding = captures, f
		in.Found = &run
		return true
	}
	for _, by := range []float64{1.005, 0.995, 1.01, 0.99, 1.02, 0.98, 1.03, 0.97, 1.05, 0.95, 1.1, 0.9, 1.3, 0.7, 2, 0.4} {
		for i := range slices.Backward(run.Captures) {
			if !isReading(&run.Captures[i]) {
				continue
			}
			captures := slices.Clone(run.Captures)
			captures[i] = moved(captures[i], by)
			if try(captures) {
				return in, true
			}
		}
	}
	for _, by := range []float64{0.999, 0.998, 0.995, 0.99, 0.98, 0.95, 0.9} {
		captures, n := slices.Clone(run.Captures), float64(len(run.Captures))
		slices.SortFunc(captures, func(a, b plant.Capture) int { return strings.Compare(a.At, b.At) })
		for i := range captures {
			if isReading(&captures[i]) && captures[i].Unit == in.Visit.Item.Range.Unit {
				captures[i] = moved(captures[i], 1+(by-1)*float64(i)/n)
			}
		}
		if try(captures) {
			return in, true
		}
	}
	return in, false
}

// missing leaves out as many of the last readings of a paper's run as found as it takes to leave it
// undecided.
func missing(t *testing.T, in certificates.Input) (certificates.Input, bool) {
	t.Helper()
	for _, n := range []int{3, 8, 16, 24} {
		run := *in.Found
		captures := slices.Clone(run.Captures)
		for i := len(captures) - 1; i >= 0 && n > 0; i-- {
			if isReading(&captures[i]) {
				captures, n = slices.Delete(captures, i, i+1), n-1
			}
		}
		if f := worked(t, &in.Visit, &run, captures); f != nil && f.Verdict == "undecided" {
			run.Captures, run.Finding = captures, f
			in.Found = &run
			return in, true
		}
	}
	return in, false
}

// ruledBy gives the method of a paper another decision rule.
func ruledBy(t *testing.T, in certificates.Input, rule string) certificates.Input {
	t.Helper()
	var d map[string]any
	if err := json.Unmarshal(in.Visit.Method.Definition, &d); err != nil {
		t.Fatal(err)
	}
	d["decision"] = map[string]any{"rule": rule, "guard_factor": "1"}
	b, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	in.Visit.Method.Definition = b
	return in
}
