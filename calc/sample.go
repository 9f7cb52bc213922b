package calc

import (
	"gaugewright/calc/document"
	"gaugewright/calc/kinds/bursttest"
	"gaugewright/calc/kinds/gaugetest"
	"gaugewright/calc/kinds/leaktest"
	"gaugewright/calc/kinds/pitotstatic"
	"gaugewright/calc/kinds/switchtest"
	"gaugewright/calc/work"
)

// The sample documents of expand and evaluate, for the tests that compare machines.

// sheetSamples make the sheets of the other kinds of work, with captures for evaluate or without
// for expand. They make every second document.
var sheetSamples = []func(seed uint64, captures bool) []byte{
	pitotstatic.Sample,
	workSheetSample,
}

func expandSample(seed uint64) []byte {
	if seed%2 == 0 {
		return sheetSamples[seed/2%uint64(len(sheetSamples))](seed, false)
	}
	return gaugetest.MethodSample(seed)
}

func evaluateSample(seed uint64) []byte {
	if seed%2 == 0 {
		return sheetSamples[seed/2%uint64(len(sheetSamples))](seed, true)
	}
	return gaugetest.SheetSample(seed)
}

// workSheetSample makes a sheet of kind leak, switch or burst, typed or with the samples of a
// logger.
func workSheetSample(seed uint64, captures bool) []byte {
	d := document.Draws(seed)
	d.Next()
	d.Next()
	w := document.NewWriter(nil)
	w.Begin()
	[]func(*document.Writer, *document.Draws, bool){
		leaktest.Sample, switchtest.Sample, bursttest.Sample,
	}[d.Below(3)](w, &d, captures)
	if captures {
		work.MeasuringSample(w, &d)
		w.Flag("complete", d.Below(4) > 0)
	}
	w.End()
	return w.Bytes()
}
