package plant

import "gaugewright/sync/merge"

// PastResult is one past test of an instrument from an imported sheet.
type PastResult struct {
	Base
	Started     string
	Summary     Summary
	Adjusted    bool
	Certificate struct{ Number, By, File string }
	Note        string
	Brought     struct{ Sheet, Name, Line, At string }
}

// ReadPastResult reads a past result.
func ReadPastResult(s merge.State) (PastResult, error) {
	r, b := open(&s, "result")
	v := PastResult{Base: b, Started: r.text("started"), Note: r.text("note")}
	r.take("summary", &v.Summary)
	var adjusted struct{ Done bool }
	r.take("adjusted", &adjusted)
	v.Adjusted = adjusted.Done
	r.take("certificate", &v.Certificate)
	r.take("brought", &v.Brought)
	return v, r.err
}
