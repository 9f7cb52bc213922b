package airdata

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "airdata", Make: airdataSample},
		{Calculation: "altimeter", Make: altimeterSample},
		{Calculation: "profile", Make: profileSample},
		{Calculation: "way", Make: waySample},
		{Calculation: "pitot_static_leak", Make: leakSample},
	}
}

func airdataSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	switch d.Below(3) {
	case 0:
		w.Number("altitude_ft", d.Between(-2000, 80000))
	case 1:
		w.Number("altitude_m", d.Between(-5000, 50000))
	default:
		w.Number("static_pa", d.Between(1000, 110000))
	}
	switch d.Below(4) {
	case 0:
		w.Number("cas_kt", d.Between(0, 900))
		w.Number("cas_rate_kt_min", d.Between(-600, 600))
	case 1:
		w.Number("mach", d.Between(0, 3))
	case 2:
		w.Number("impact_pa", d.Between(-1000, 90000))
	}
	if d.Below(2) == 0 {
		w.Number("temperature_c", d.Between(-80, 50))
	}
	if d.Below(2) == 0 {
		w.Number("climb_ft_min", d.Between(-20000, 20000))
	}
	if d.Below(2) == 0 {
		w.Number("setting_pa", d.Between(95000, 105000))
		w.Number("field_pa", d.Between(85000, 105000))
		w.Number("elevation_ft", d.Between(-200, 5000))
	}
	w.End()
	return w.Bytes()
}

func altimeterSample(seed uint64) []byte {
	d := document.Draws(seed)
	whole := func(low, high float64) float64 { return float64(int(d.Between(low, high))) }
	w := document.NewWriter(nil)
	w.Begin()
	switch d.Below(6) {
	case 0:
		row := scaleTable[d.Below(len(scaleTable))]
		w.Text("test", TestScale)
		w.Number("altitude_ft", row.feet)
		w.Number("reading_ft", row.feet+whole(-300, 300))
	case 1:
		highest := float64(whole(10, 50) * 1000)
		half := float64(highest / 2)
		w.Text("test", TestHysteresis)
		w.Number("max_altitude_ft", highest)
		w.Number("altitude_ft", half)
		w.Number("ascending_ft", half+whole(-50, 50))
		w.Number("descending_ft", half+whole(-50, 90))
	case 2:
		row := frictionTable[d.Below(len(frictionTable))]
		w.Text("test", TestFriction)
		w.Number("altitude_ft", row.At)
		w.Number("before_ft", row.At+whole(-100, 100))
		w.Number("after_ft", row.At+whole(-100, 100))
	case 3:
		row := barometricTable[d.Below(len(barometricTable))]
		w.Text("test", TestBarometric)
		w.Number("setting_inhg", row.At)
		w.Number("reading_at_29_92_ft", 520)
		w.Number("reading_ft", 520+row.Feet+whole(-40, 40))
	case 4:
		w.Text("test", TestCaseLeak)
		w.Number("start_ft", 18000)
		w.Number("end_ft", whole(17850, 18000))
		w.Number("minutes", d.Between(0.9, 1.1))
	default:
		w.Text("test", TestSeparation)
		w.Text("group", string(LaterFull))
		w.Number("mean_ft", d.Between(-90, 90))
		w.Number("sigma_ft", d.Between(10, 60))
	}
	w.End()
	return w.Bytes()
}

func profileSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginObject("from")
	w.Number("altitude_ft", d.Between(-900, 45000))
	w.Number("cas_kt", d.Between(0, 350))
	w.End()
	if d.Below(2) == 0 {
		w.Number("field_pa", d.Between(85000, 104000))
	} else {
		w.BeginObject("to")
		w.Number("altitude_ft", d.Between(-900, 40000))
		w.Number("cas_kt", d.Between(0, 250))
		w.End()
	}
	w.Number("max_climb_ft_min", d.Between(1000, 10000))
	w.Number("max_cas_rate_kt_min", d.Between(50, 600))
	w.BeginObject("limits")
	w.Number("max_altitude_ft", 41000)
	w.Number("max_cas_kt", 330)
	w.Number("max_mach", d.Between(0.83, 0.9))
	w.End()
	w.Number("interval_s", d.Between(5, 30))
	w.End()
	return w.Bytes()
}

func leakSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	if d.Below(2) == 0 {
		w.Text("kind", kindPitot)
		w.Number("start", 150)
		if d.Below(2) == 0 {
			w.Number("end", d.Between(135, 150))
		} else {
			w.Number("pressure_change_pa", d.Between(0, 800))
		}
	} else {
		w.Text("kind", kindStatic)
		w.Number("start", d.Between(1000, 5000))
		w.Number("pressure_change_pa", d.Between(0, 600))
		if d.Below(2) == 0 {
			w.Number("cabin_psi", d.Between(2, 9))
		}
	}
	w.Number("minutes", 1)
	w.End()
	return w.Bytes()
}
