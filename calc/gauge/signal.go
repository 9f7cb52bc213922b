package gauge

import "gaugewright/calc/document"

// pressureOf returns a transmitter's error as a pressure: the pressure that the signal stands for
// less the applied one.
//
// Gives:   false for a square-root output at and below zero.
func (t *Task) pressureOf(r *Reading) (float64, bool) {
	p, ok := t.Output.Pressure(r.Indicated.Float(), t.Low.Float(), t.High.Float())
	return p - r.Applied.Float(), ok
}

// WriteSignal writes the ideal signal for a transmitter's reading, and the error in per cent of the
// output's span and in pressure.
//
//	ideal: see Output.Ideal;  error_percent = 100 (measured − ideal)/span;  error_pressure = the pressure of that signal − applied
//
// Source:  IEC 61298-2 for errors in per cent of the output's span (from memory); the error in
// pressure: derived here.
func WriteSignal(out *document.Writer, t *Task, r *Reading) {
	out.Number("ideal", r.ideal.Float())
	out.Number("error_percent", float64(r.off/t.span()*100))
	if p, ok := t.pressureOf(r); ok {
		out.Number("error_pressure", p)
	}
}

// writeSignalEnds writes the zero and span errors of a transmitter if both ends of the range were
// read.
//
//	zero = mean error at the low end;  span = mean error at the high end − zero;  both in the output's unit and in per cent of its span
//
// Source:  common practice, no source.
func writeSignalEnds(out *document.Writer, t *Task, r *Result) {
	if t.Output == nil {
		return
	}
	var low, high *PointResult
	for i := range r.Points {
		p := &r.Points[i]
		if p.Point.Cmp(t.Low) == 0 {
			low = p
		}
		if p.Point.Cmp(t.High) == 0 {
			high = p
		}
	}
	if low == nil || high == nil {
		return
	}
	out.BeginObject("signal")
	out.Number("zero", low.Error)
	out.Number("zero_percent", float64(low.Error/t.span()*100))
	out.Number("span", high.Error-low.Error)
	out.Number("span_percent", float64((high.Error-low.Error)/t.span()*100))
	out.End()
}
