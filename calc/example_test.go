package calc_test

import (
	"encoding/json"
	"fmt"

	"gaugewright/calc"
)

// A calculation takes one JSON document and gives one; a fault names its field.
func ExampleCall() {
	var converted struct {
		Value float64
		Unit  string
	}
	reply := calc.Call("units", []byte(`{"quantity":"1 bar","to":"kPa"}`))
	if err := json.Unmarshal(reply, &converted); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(converted.Value, converted.Unit)
	fmt.Printf("%s\n", calc.Call("units", []byte(`{"quantity":"1 furlong","to":"kPa"}`)))
	// Output:
	// 100 kPa
	// {"error":{"code":"unit","field":"quantity","message":"\"furlong\" is not a unit known here"}}
}
