package certificates_test

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"gaugewright/server/plant"
)

// TestRiskOfEveryLine: a reading that passed close to its limit may be judged wrongly, beside one that
// failed by far at the same point. Before, only the point's own risk was stated.
func TestRiskOfEveryLine(t *testing.T) {
	w := start(t, true, 6)
	w.judgedAt(0, 0.00002, 2, 0)
	raw, _ := w.runs[0].Value("finding")
	var f map[string]any
	if err := json.Unmarshal(raw, &f); err != nil {
		t.Fatal(err)
	}
	reading := f["readings"].([]any)[3].(map[string]any)
	for _, p := range f["points"].([]any) {
		if p := p.(map[string]any); p["applied"] == reading["applied"] {
			u := p["expanded"].(float64)
			// By hand: half of U below the limit is one standard uncertainty; 15.87 % of a normal distribution is above it.
			reading["error"], reading["verdict"] = reading["limit_high"].(float64)-u/2, "pass"
		}
	}
	w.runs[0] = w.keep(w.drafter.Edit(w.runs[0], w.now, plant.Set{Field: "finding", Value: f}))
	w.approve()
	got := text(t, w.pdf())
	if !regexp.MustCompile(`As found: the largest probability of a wrong verdict in these results is 16 %, at [\d.]+ bar, (rising|falling)\.`).MatchString(got) {
		t.Errorf("another risk: %s", regexp.MustCompile(`As found: the largest.{0,120}`).FindString(got))
	}
}

// TestDegreesOfFreedomFitTheirFactor: 2.14 is Student's t for 19 degrees of freedom at 95.45 % (GUM table
// G.2), and effective ones are rounded down to it (GUM G.4.1).
func TestDegreesOfFreedomFitTheirFactor(t *testing.T) {
	w := start(t, true, 6)
	w.judgedAt(0, 0.1, 2.14, 19.8)
	w.judgedAt(1, 0.1, 2, 0)
	w.approve()
	wants(t, text(t, w.pdf()), "19 degrees of freedom (k = 2.14)")
}

// TestConditionalVerdicts: the verdicts of a rule with four of them are words on paper, the schema's
// words in the XML, and letters of their own in the code; it was called undecided there.
func TestConditionalVerdicts(t *testing.T) {
	w := start(t, true, 6)
	for i, verdict := range []string{"conditional-fail", "conditional-pass"} {
		raw, _ := w.runs[i].Value("finding")
		var f map[string]any
		if err := json.Unmarshal(raw, &f); err != nil {
			t.Fatal(err)
		}
		f["verdict"] = verdict
		f["readings"].([]any)[0].(map[string]any)["verdict"] = verdict
		w.runs[i] = w.keep(w.drafter.Edit(w.runs[i], w.now, plant.Set{Field: "finding", Value: f}))
	}
	w.approve()
	got := text(t, w.pdf())
	wants(t, got, "As found: conditional fail", "As left: conditional pass", "2.00 conditional fail", "2.00 conditional pass")
	if strings.Contains(got, "conditional-") {
		t.Error("a verdict is printed as the calculations write it")
	}
}
