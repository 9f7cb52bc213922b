package gaugetest

import "gaugewright/calc/document"

// Samples makes documents of the calculation methods.
func Samples() []document.Sample {
	return []document.Sample{{Calculation: "methods", Make: methodsSample}}
}

func methodsSample(seed uint64) []byte {
	if seed%4 == 0 {
		return []byte(`{"list":true}`)
	}
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("name", readyMethods[seed%uint64(len(readyMethods))].name)
	w.End()
	return w.Bytes()
}
