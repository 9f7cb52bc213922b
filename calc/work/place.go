package work

import (
	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// Bounds of the air of a place. The pressures at sea level are a little beyond the record low and
// high of the World Meteorological Organization, 870 and 1085 hPa (from memory); they scale with
// the standard pressure of the height. If the height is unknown, the lower bound of 500 hPa is the
// pressure at some 5500 m, above which hardly anyone works. The temperatures are common practice,
// no source: no one tests beyond them.
const (
	lowestAir, highestAir    = 500, 1100  // hPa, the height unknown
	lowestShare, mostShare   = 0.85, 1.08 // shares of the standard pressure of the height
	coldestAir, warmestAir   = -60, 80    // °C
	coldestPart, hottestPart = -200, 600  // °C, of a disc under test
	coldestHeld, hottestHeld = -60, 150   // °C, of a closed system that is watched for a leak
)

// airFound is the ambient air as typed.
type airFound struct {
	temperature, pressure, humidity, height float64 // °C, hPa, %, m
	hasT, hasP, hasH, hasHeight             bool
}

// airFault is a value that air has nowhere.
type airFault struct{ field, message string }

// readAround reads the ambient air of a visit.
func readAround(r *document.Reader) airFound {
	var a airFound
	a.temperature, a.hasT = r.Optional("temperature_c")
	a.pressure, a.hasP = r.Optional("pressure_hpa")
	a.humidity, a.hasH = r.Optional("humidity_percent")
	a.height, a.hasHeight = r.Optional("height_m")
	return a
}

// faults names the impossible values.
func (a *airFound) faults() []airFault {
	var list []airFault
	if a.hasT && !(a.temperature >= coldestAir && a.temperature <= warmestAir) {
		list = append(
			list,
			airFault{"temperature_c", "an air temperature of " + Figure(a.temperature) + " °C is that of no place: from " + Figure(coldestAir) + " to " + Figure(warmestAir) + " °C is possible"},
		)
	}
	if a.hasP {
		if m := NoPressure(a.pressure, a.height, a.hasHeight); m != "" {
			list = append(list, airFault{"pressure_hpa", m})
		}
	}
	if a.hasH && !(a.humidity >= 0 && a.humidity <= 100) {
		list = append(
			list,
			airFault{
				"humidity_percent",
				"a relative humidity of " + Figure(a.humidity) + " % cannot be: from 0 to 100 % is possible",
			},
		)
	}
	return list
}

// NoPressure returns why an air pressure in hPa exists nowhere, or not at the height; "" if it can.
func NoPressure(hpa, height float64, hasHeight bool) string {
	low, high, where := float64(lowestAir), float64(highestAir), ""
	if hasHeight {
		if p, err := airdata.ISO().PressureAtFeet(height / units.Foot); err == nil {
			low, high, where = float64(lowestShare*p/100), float64(mostShare*p/100), " at "+Figure(height)+" m"
		}
	}
	if hpa >= low && hpa <= high {
		return ""
	}
	s := "an air pressure of " + Figure(hpa) + " hPa is that of no place: from " + rounded(low) + " to " + rounded(high) + " hPa is possible" + where
	for _, u := range [...]struct {
		name   string
		factor float64
	}{{"inHg", 33.8639}, {"kPa", 10}, {"mmHg", 1.333224}, {"Pa", 0.01}, {"bar", 1000}, {"psi", 68.9476}} {
		if x := float64(hpa * u.factor); x >= max(low, 850) && x <= high {
			return s + "; was it read in " + u.name + "?"
		}
	}
	return s
}

// rounded formats a bound without decimals.
func rounded(x float64) string { return Figure(float64(int(x + 0.5))) }

// NoPart returns why the temperature of a disc under test is impossible; "" if it is possible.
func NoPart(celsius float64) string { return noTemperature(celsius, coldestPart, hottestPart) }

// NoSystem returns why the temperature of a closed system is impossible; "" if it is possible. A
// leak test of a hotter system shows nothing, since its gas is corrected to the temperature of a
// room.
func NoSystem(celsius float64) string { return noTemperature(celsius, coldestHeld, hottestHeld) }

func noTemperature(celsius, low, high float64) string {
	if celsius >= low && celsius <= high {
		return ""
	}
	return "a temperature of " + Figure(celsius) + " °C cannot be: from " + Figure(low) + " to " + Figure(high) + " °C is possible"
}
