package document_test

import (
	"fmt"

	"gaugewright/calc/document"
)

// A calculation reads its fields and writes its reply; a fault names the field.
func ExampleCalculation_Run() {
	double := document.Calculation{Name: "double", Call: func(in *document.Reader, out *document.Writer) error {
		out.Number("twice", 2*in.Object("gauge").Number("reading"))
		return in.Err()
	}}
	fmt.Println(string(double.Run([]byte(`{"gauge":{"reading":"4.5"}}`), "1")))
	fmt.Println(string(double.Run([]byte(`{"gauge":{"reading":"high"}}`), "1")))
	// Output:
	// {"twice":9,"calc":"1"}
	// {"error":{"code":"not_a_number","field":"gauge.reading","message":"\"high\" is not a decimal number (digits, one point, an optional sign)"}}
}
