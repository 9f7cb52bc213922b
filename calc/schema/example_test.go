package schema_test

import (
	"encoding/json"
	"fmt"

	"gaugewright/calc/schema"
)

// Each calculation has a schema, which says what its document needs.
func ExampleOf() {
	text, err := schema.Of("units")
	if err != nil {
		fmt.Println(err)
		return
	}
	var one struct {
		Title, Description string
	}
	if err := json.Unmarshal(text, &one); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %s\n", one.Title, one.Description)
	// Output:
	// units: Converts a quantity to another unit, exactly where the factor is exact; with list, every unit with its factor.
}
