package choose

import (
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// calculateStated is the calculation stated: the points of a finding → the points of a certificate.
//
// An uncertainty has two significant digits. The error has as many digits after the point, the
// applied value one more. A coverage factor has three. A point without an uncertainty is left out.
//
// Takes:   {points: [{applied, error, expanded, k?}]}, as in a finding of kind gauge.
// Gives:   {points: [{applied, error, expanded, k}]}, as texts.
// Source:  JCGM 100:2008 (GUM), 7.2.6, from memory.
func calculateStated(in *document.Reader, out *document.Writer) error {
	points := in.Values("points")
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("points")
	for i := range points {
		p := &points[i]
		applied, ok := number(p, "applied")
		wrong, ok2 := number(p, "error")
		expanded, ok3 := number(p, "expanded")
		if !ok || !ok2 || !ok3 || expanded <= 0 {
			continue
		}
		k, ok := number(p, "k")
		if !ok {
			k = 2
		}
		places := min(12, max(0, 1-numeric.Exponent(expanded)))
		out.Begin()
		out.Text("applied", numeric.FormatDecimals(applied, places+1))
		out.Text("error", numeric.FormatDecimals(wrong, places))
		out.Text("expanded", numeric.FormatDecimals(expanded, places))
		out.Text("k", numeric.Places(k, 3))
		out.End()
	}
	out.EndList()
	return nil
}

// statedSample is the points of a finding, with uncertainties of many sizes.
func statedSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginList("points")
	for n := range 1 + d.Below(9) {
		w.Begin()
		w.Whole("applied", n)
		w.Number("error", d.Between(-0.01, 0.01))
		w.Raw("expanded", []byte("0."+[...]string{"", "0", "00", "000"}[d.Below(4)]+strconv.Itoa(1+d.Below(9999))))
		if d.Below(2) == 0 {
			w.Raw("k", []byte("2."+strconv.Itoa(d.Below(1000))))
		}
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}
