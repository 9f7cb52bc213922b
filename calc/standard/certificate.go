package standard

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// farOut is how many times the specification a certificate's error may be before it is doubted as a
// typing error. Chosen here: a slipped decimal point is a factor of ten.
const farOut = 3

// Doubt is something about a certificate that a person must check before it is used.
type Doubt struct {
	Code    string // "future", "expired", "far" or "expanded"
	Field   string
	Message string
}

// Doubts returns the oddities of a standard's certificate.
//
//	far: |error| > 3 × the half-width of the specification at the point;  expanded: U > 3 × that half-width
//
// Takes:   the standard with its ranges and the certificate's points; the days on which it was
// calibrated and is due, and today, as day numbers.
// Gives:   one doubt for each odd date and each odd point.
// Source:  chosen here; the specification is that of Parts.
func (s *Standard) Doubts(calibrated, due, today int) (list []Doubt) {
	if calibrated > today {
		list = append(list, Doubt{"future", "calibrated", "the day of calibration lies in the future"})
	}
	if due < today {
		list = append(list, Doubt{"expired", "due", "the certificate has expired already"})
	}
	bare := *s
	bare.Points, bare.DriftPerYear, bare.Elsewhere = nil, 0, nil
	for i, p := range s.Points {
		parts, _, err := bare.Parts(p.Applied)
		if err != nil || len(parts) == 0 || parts[0].Value == 0 {
			continue // outside every range, or without a specification: nothing to compare with
		}
		half := parts[0].Value
		field := "certificate.points[" + strconv.Itoa(i) + "]"
		if math.Abs(p.Error) > float64(farOut*half) {
			list = append(list, Doubt{"far", field + ".error", "the error at " + text(p.Applied) + " is " +
				text(math.Abs(p.Error)/half) + " times the specification"})
		}
		if p.Expanded > float64(farOut*half) {
			list = append(list, Doubt{"expanded", field + ".expanded", "the uncertainty at " + text(p.Applied) + " is " +
				text(p.Expanded/half) + " times the specification"})
		}
	}
	return list
}

func text(x float64) string {
	return strconv.FormatFloat(numeric.RoundSignificant(x, 2), 'f', -1, 64)
}

// calculateCertificate is the calculation certificate: {ranges and certificate of a standard,
// calibrated, due, today} → {doubts}. Without ranges, for a standard of unknown specification, only
// the dates are checked.
func calculateCertificate(in *document.Reader, out *document.Writer) error {
	var s Standard
	if in.Has("ranges") {
		s = Read(in)
	}
	in.TextOr("unit", "")
	calibrated, due, today := readDay(in, "calibrated"), readDay(in, "due"), readDay(in, "today")
	if in.Err() == nil && due < calibrated {
		in.Fail(document.CodeRange, "due", "must not lie before the day of calibration")
	}
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("doubts")
	for _, d := range s.Doubts(calibrated, due, today) {
		out.Begin()
		out.Text("code", d.Code)
		out.Text("field", d.Field)
		out.Text("message", d.Message)
		out.End()
	}
	out.EndList()
	return nil
}

// readDay reads a date such as 2026-03-04 as a day number.
func readDay(in *document.Reader, name string) int {
	s := in.Text(name)
	if in.Err() != nil {
		return 0
	}
	day, ok := document.ParseDate(s)
	if !ok {
		in.Fail(document.CodeRange, name, document.Quote(s)+" is not a date such as 2026-03-04, from 1900 on")
	}
	return day
}
