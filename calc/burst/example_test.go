package burst_test

import (
	"fmt"

	"gaugewright/calc/burst"
)

// Tolerance factors for ten discs, as ISO 16269-6:2014 tabulates them (2.911 one-sided, 3.393
// two-sided, each for 95 % of the lot at 95 % confidence; two-sided from memory).
func Example() {
	fmt.Printf("one-sided %.3f, two-sided %.3f\n", burst.OneSided(10, 0.95, 0.95), burst.TwoSided(10, 0.95, 0.95))
	// Output: one-sided 2.911, two-sided 3.393
}
