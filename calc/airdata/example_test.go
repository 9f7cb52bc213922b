package airdata_test

import (
	"fmt"

	"gaugewright/calc/airdata"
)

// 400 kt at 30 000 ft: the airspeed is subsonic, the Mach number is not (RP 1046 prints a true
// airspeed of 602.6 kt).
func Example() {
	m := airdata.ISO()
	static, err := m.PressureAtFeet(30000)
	if err != nil {
		fmt.Println(err)
		return
	}
	impact := m.Impact(400)
	mach, _ := airdata.Mach(impact, static)
	fmt.Printf("static %.2f Pa, pitot %.2f Pa, Mach %.5f, true airspeed %.1f kt\n",
		static, static+impact, mach, m.TAS(mach, m.Kelvin(30000*0.3048)))
	// Output: static 30089.56 Pa, pitot 58484.05 Pa, Mach 1.02252, true airspeed 602.6 kt
}
