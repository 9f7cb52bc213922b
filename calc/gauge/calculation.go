package gauge

import (
	"gaugewright/calc/document"
	"gaugewright/calc/standard"
	"gaugewright/calc/units"
)

// Calculations returns the calculation gauge.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "gauge", Call: calculate}}
}

func calculate(in *document.Reader, out *document.Writer) error {
	var t Task
	unit := units.Of(in, "unit", units.Pressure)
	t.Unit, t.Pascals = in.Text("unit"), unit.Factor
	if in.Has("mode") {
		t.Mode = in.Choice("mode", "gauge", "absolute", "differential")
	}
	ReadRange(in, &t)
	if o, ok := in.OptionalObject("output"); ok {
		t.Output = ReadOutput(o)
	}
	if in.Err() == nil {
		t.Limit = ReadLimit(in.Object("limit"), t.Low, t.High, t.Output)
	}
	if s, ok := in.OptionalObject("standard"); ok {
		one := standard.Read(s)
		t.Standard, t.HasStandard = &one, true
	}
	pointerSet := in.ChoiceOr("method", "applied-set", "pointer-set") == "pointer-set"
	ReadSurroundings(in, &t)
	readRepeatability(in, &t)
	ReadHead(in, &t)
	ReadDecision(in.Object("decision"), &t)
	ReadCoverage(in, &t)
	if in.Err() == nil && t.Output != nil && pointerSet {
		in.Fail(document.CodeConflict, "method", "a transmitter has no pointer to set")
	}
	readReadings(in, &t, pointerSet)
	if err := in.Err(); err != nil {
		return err
	}
	r, err := Evaluate(&t)
	if err != nil {
		return err
	}
	WritePoints(out, &t, &r)
	WriteSummary(out, &t, &r)
	WriteWarnings(out, r.Warnings)
	return nil
}
