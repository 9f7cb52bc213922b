package head_test

import (
	"math"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/head"
)

// The metre of water: 998.2 kg/m³ at 9.80665 m/s² is 9789.0 Pa, less the 11.8 Pa of the air of 1.2
// kg/m³ over the same height. Hydrostatics, Δp = (ρ - ρ_air) g h.
func TestCorrection(t *testing.T) {
	for above, want := range map[float64]float64{1: 9777.23, -1: -9777.23, 0: 0} {
		got := head.Correction(head.Column{StandardAboveM: above, Gravity: 9.80665, Density: 998.2, AirDensity: 1.2})
		if math.Abs(got-want) > 0.01 {
			t.Errorf("%g m: %.3f Pa, want %.2f", above, got, want)
		}
	}
}

// Gas gets denser with pressure: ten times the absolute pressure, ten times the column. Nitrogen of
// 10 bar absolute at 20 °C has p M/(R T) = 11.49 kg/m³, 112.7 Pa a metre (ideal gas, CODATA 2018).
func TestGasFollowsThePressure(t *testing.T) {
	in := calctest.Open(t, `{"standard_above_m":"1","fluid":"nitrogen","latitude_deg":"45"}`)
	site := head.ReadSite(
		in, "absolute",
		&head.Around{
			TemperatureC: 20, HasTemperature: true, PressurePa: 101325, HasPressure: true, Humidity: 0.5,
			HasHumidity: true, Ambient: 101325,
		},
	)
	if err := in.Err(); err != nil {
		t.Fatal(err)
	}
	low, ok1 := site.At(1e5)
	high, ok2 := site.At(1e6)
	want := 1e6 * 0.0280134 / (8.314462618 * 293.15) * 9.80620
	if !ok1 || !ok2 || math.Abs(high-want) > 0.01*want || math.Abs(high/low-10) > 0.05 {
		t.Errorf("%g Pa at 1 bar, %g Pa at 10 bar, want %g", low, high, want)
	}
	if _, ok := site.At(-1); ok {
		t.Error("there is a column of gas below zero absolute")
	}
}
