package leaktest_test

import (
	"fmt"

	"gaugewright/calc/calctest"
)

// 10 L under pressure lose 1 Pa a second: 0.01 Pa·m³/s, where 0.009 Pa·m³/s is permitted.
func ExampleKind() {
	r, err := calctest.Try(kinds.EvaluateSheet, `{`+system("0.009")+`,`+record()+`}`)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s %.3f Pa·m³/s\n", r.Text("verdict"), r.Object("leak").List("phases")[0].Number("rate_pa_m3_s"))
	// Output: fail 0.010 Pa·m³/s
}
