package after

import "gaugewright/calc/document"

// Samples returns a maker of documents for the calculation after.
func Samples() []document.Sample { return []document.Sample{{Calculation: "after", Make: sample}} }

// sample is a result with the decision about it.
func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("kind", []string{"gauge", "switch", "leak"}[d.Below(3)])
	w.Flag("safety", d.Below(2) == 0)
	w.Text("date", "2026-03-04")
	w.Text("found", verdicts[d.Below(len(verdicts))])
	if d.Below(3) == 0 {
		w.Text("left", verdicts[d.Below(len(verdicts))])
	}
	if d.Below(2) == 0 {
		w.BeginObject("said")
		switch d.Below(3) {
		case 0:
			w.Text("way", wayReplaced)
			w.Text("serial", "Q-118")
		case 1:
			w.Text("way", wayStays)
			w.Text("by", "shift lead")
			w.Text("until", []string{"2026-03-10", "2026-03-01"}[d.Below(2)])
			w.Text("reason", "a second gauge stands beside it")
		default:
			w.Text("way", wayOut)
			w.Text("code", "sticks")
			w.Text("reason", "acts two bar late")
		}
		w.End()
	}
	w.BeginList("bypasses")
	for range d.Below(3) {
		w.Begin()
		w.Text("name", "jumper 14")
		w.Text("state", []string{"set", "removed", "left"}[d.Below(3)])
		w.Text("reason", "the loop is out of use")
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}
