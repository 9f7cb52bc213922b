package airdata

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// The kinds of leak test.
const (
	kindStatic = "static"
	kindPitot  = "pitot"
)

func calculateAltimeter(in *document.Reader, out *document.Writer) error {
	test := in.Choice(
		"test", TestScale, TestHysteresis, TestAfterEffect, TestFriction, TestCaseLeak, TestBarometric,
		TestCorrespondence, TestSeparation,
	)
	if err := in.Err(); err != nil {
		return err
	}
	j := altimeterTest(test, in)
	if err := in.Err(); err != nil {
		return err
	}
	out.Number("error_ft", j.err.Float())
	out.Number("tolerance_ft", j.tolerance.Float())
	for _, e := range j.extra {
		out.Number(e.name, e.value)
	}
	out.Text("verdict", verdict(j.fails || exceeds(j.err, j.tolerance)))
	writeWarnings(out, j.warnings)
	return nil
}

func verdict(fails bool) string {
	if fails {
		return Fail
	}
	return Pass
}

func calculateLeak(in *document.Reader, out *document.Writer) error {
	kind := in.Choice("kind", kindStatic, kindPitot)
	if err := in.Err(); err != nil {
		return err
	}
	t, err := readLeakTest(kind, in)
	if err != nil {
		return err
	}
	if kind == kindPitot {
		out.Number("loss_kt", t.loss.Float())
	} else {
		out.Number("loss_ft", t.loss.Float())
	}
	out.Number("end", t.end)
	out.Number("limit", t.limit.Float())
	if t.equivalent != 0 {
		out.Number("equivalent_altitude_ft", t.equivalent)
	}
	out.Text("verdict", verdict(exceeds(t.loss, t.limit)))
	writeWarnings(out, t.warnings)
	return nil
}

// exceeds reports whether |value| is above the limit, in decimals: a value equal to the limit as
// written is inside.
func exceeds(value, limit numeric.Exact) bool { return value.Abs().Cmp(limit) > 0 }
