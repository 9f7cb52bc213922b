package numeric

import "math"

// π/2 in three parts; the products of the first two with a whole number below 2^22 are exact.
const (
	halfPiHead   = 1.5707963267341256
	halfPiMiddle = 6.07710049817245e-11
	halfPiTail   = 8.333742918520879e-20
	largestAngle = 6e6
)

// quarter returns x minus the nearest multiple of π/2, as r + c, and that multiple modulo 4.
func quarter(x float64) (r, c float64, q int) {
	n := math.Floor(x/(math.Pi/2) + 0.5)
	s := twoSum(x-float64(n*halfPiHead), -float64(n*halfPiMiddle))
	s = quickSum(s.hi, s.lo-float64(n*halfPiTail))
	m := n - float64(4*math.Floor(n/4))
	return s.hi, s.lo, int(m)
}

// sine and cosine by the power series for |r| ≤ π/4, cut where the next term is below 1e-18.
func sine(r, c float64) float64 {
	z := float64(r * r)
	q := -f15 + float64(z*f17)
	q = f13 + float64(z*q)
	q = -f11 + float64(z*q)
	q = f9 + float64(z*q)
	q = -f7 + float64(z*q)
	q = f5 + float64(z*q)
	q = -f3 + float64(z*q)
	return r + (float64(float64(r*z)*q) + float64(c*(1-float64(0.5*z))))
}

func cosine(r, c float64) float64 {
	z := float64(r * r)
	q := -f14 + float64(z*f16)
	q = f12 + float64(z*q)
	q = -f10 + float64(z*q)
	q = f8 + float64(z*q)
	q = -f6 + float64(z*q)
	q = f4 + float64(z*q)
	half := float64(0.5 * z)
	w := 1 - half
	return w + (((1 - w) - half) + (float64(float64(z*z)*q) - float64(c*r)))
}

// Sin returns the sine of x radians, within 1 unit of the last place.
//
// Takes: |x| ≤ 6e6; beyond that NaN.
func Sin(x float64) float64 {
	if !(math.Abs(x) <= largestAngle) {
		return nan()
	}
	r, c, q := quarter(x)
	switch q {
	case 0:
		return sine(r, c)
	case 1:
		return cosine(r, c)
	case 2:
		return -sine(r, c)
	}
	return -cosine(r, c)
}

// Cos returns the cosine of x radians, within 1 unit of the last place.
//
// Takes: |x| ≤ 6e6; beyond that NaN.
func Cos(x float64) float64 {
	if !(math.Abs(x) <= largestAngle) {
		return nan()
	}
	r, c, q := quarter(x)
	switch q {
	case 0:
		return cosine(r, c)
	case 1:
		return -sine(r, c)
	case 2:
		return -cosine(r, c)
	}
	return sine(r, c)
}

// Tan returns the tangent of x radians, within 2 units of the last place.
//
// Takes: |x| ≤ 6e6; beyond that NaN.
func Tan(x float64) float64 {
	if !(math.Abs(x) <= largestAngle) {
		return nan()
	}
	r, c, q := quarter(x)
	if q&1 == 0 {
		return sine(r, c) / cosine(r, c)
	}
	return -cosine(r, c) / sine(r, c)
}
