package medium

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
	"math"
)

// StandardGravity is the conventional value of free fall in m/s², exact (3rd CGPM, 1901).
const StandardGravity = units.Gravity

// Ellipsoid holds the defining constants of a normal gravity field.
type Ellipsoid struct {
	Name              string
	SemiMajor         float64 // m, exact by definition
	InverseFlattening float64
	Equator, Pole     float64 // normal gravity, m/s²
	M                 float64 // ω²a²b/GM
}

// WGS84 and GRS80: published constants of the two systems (checked against GeographicLib's closed
// form in the tests); M of GRS80 from memory, used only above the ellipsoid, where its last digits
// matter less than 1e-12 m/s² per metre.
var (
	WGS84 = Ellipsoid{"wgs84", 6378137, 298.257223563, 9.7803253359, 9.8321849378, 0.0034497865068408447}
	GRS80 = Ellipsoid{"grs80", 6378137, 298.257222101, 9.7803267715, 9.8321863685, 0.00344978600308}
)

// SomiglianaK returns k = b·γp/(a·γe) − 1 of the ellipsoid.
func (e Ellipsoid) SomiglianaK() float64 {
	b := float64(e.SemiMajor * (1 - 1/e.InverseFlattening))
	return b*e.Pole/(e.SemiMajor*e.Equator) - 1
}

// NormalGravity returns the gravity of the ellipsoid's field at a latitude and a height above it.
//
//	γ(φ) = γe(1 + k sin²φ)/√(1 − e² sin²φ)
//	γh = γ[1 − (2/a)(1 + f + m − 2f sin²φ)h + 3h²/a²]
//
// Takes:   latitude −90…90 degrees, height in metres.
// Gives:   m/s²; to 1e-9 on the ellipsoid, 1e-7 up to 1 km, 1e-6 up to 10 km. True local gravity
// differs by up to 5e-4 m/s².
// Refuses: a latitude or height outside −90…90 degrees, −1000…10000 m (Fault range).
// Source:  Somigliana's formula with the second-order height term; constants of WGS 84 and GRS 80
// as published.
func NormalGravity(e Ellipsoid, latitudeDeg, heightM float64) (float64, error) {
	if !(latitudeDeg >= -90 && latitudeDeg <= 90) {
		return 0, document.Refuse(document.CodeRange, "latitude_deg", "must be from -90 to 90 degrees")
	}
	if !(heightM >= -1000 && heightM <= 10000) {
		return 0, document.Refuse(
			document.CodeRange, "height_m",
			"must be from -1000 to 10000 m; the formula is not good beyond",
		)
	}
	f := 1 / e.InverseFlattening
	e2 := float64(f * (2 - f))
	s := numeric.Sin(latitudeDeg * math.Pi / 180)
	s2 := float64(s * s)
	g := e.Equator * (1 + float64(e.SomiglianaK()*s2)) / math.Sqrt(1-float64(e2*s2))
	if heightM == 0 {
		return g, nil
	}
	h := heightM / e.SemiMajor
	first := float64(2 * (1 + f + e.M - float64(2*f*s2)) * h)
	second := float64(3 * h * h)
	return float64(g * (1 - first + second)), nil
}
