package visit

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/rounding"
)

// writeShares writes for every visit the share of its limit that was found, and the verdict. It
// leaves out visits that lack one of them.
func writeShares(out *document.Writer, visits []Past) {
	out.BeginList("shares")
	for i := range visits {
		v := &visits[i]
		found := part(v.Summary, "as_found")
		share, ok := number(part(found, "worst_fraction"))
		if !ok {
			share, ok = shareOf(part(found, "results"))
		}
		verdict := text(part(found, "verdict"))
		if !ok || verdict == "" {
			continue
		}
		out.Begin()
		out.Text("started", v.Started)
		out.Number("fraction", share)
		out.Text("of_limit", rounding.OfLimit(share))
		out.Text("verdict", verdict)
		out.End()
	}
	out.EndList()
}

// shareOf returns how much of its limit the worst of a finding's results takes up. Between two
// limits it is the distance from their middle as a share of half their distance; under one limit
// the result as a share of it; over one limit the limit as a share of the result.
//
// Source: derived here.
func shareOf(results *document.Value) (worst float64, ok bool) {
	if results == nil || results.Kind != document.Array {
		return 0, false
	}
	for _, r := range results.List() {
		value, known := number(part(&r, "value"))
		if !known || text(part(&r, "verdict")) == "" {
			continue
		}
		low, under := number(part(&r, "limit_low"))
		high, over := number(part(&r, "limit_high"))
		share := 0.0
		switch {
		case under && over && high > low:
			share = math.Abs(value-float64((low+high)/2)) / float64((high-low)/2)
		case over && high > 0:
			share = max(0, value) / high
		case under && low > 0 && value > 0:
			share = low / value
		default:
			continue
		}
		worst, ok = max(worst, share), true
	}
	return worst, ok
}
