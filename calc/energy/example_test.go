package energy_test

import (
	"fmt"

	"gaugewright/calc/energy"
)

// A vessel of one cubic metre with nitrogen at 10 bar absolute.
func ExampleStored() {
	e := energy.Stored(energy.Gas{VolumeM3: 1, Pressure: 1e6, Ambient: 101325, HeatRatio: 1.4})
	fmt.Printf(
		"Brode %.2f MJ, isentropic %.2f MJ, isothermal %.2f MJ\n", e.Brode/1e6, e.Isentropic/1e6, e.Isothermal/1e6,
	)
	// Output: Brode 2.25 MJ, isentropic 1.20 MJ, isothermal 2.29 MJ
}
