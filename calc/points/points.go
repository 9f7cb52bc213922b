// Package points lays out the test points of a calibration as exact decimals, and the order in
// which they are visited.
package points

import (
	"strconv"

	"gaugewright/calc/numeric"
)

// Most is the largest number of points or visits: more than any procedure asks, and still a short
// list on a phone.
const Most = 1000

// furtherDigits is how many digits beyond the span's first digit a point gets whose decimal does
// not end.
const furtherDigits = 6

// Equal returns count points in equal steps from low to high, both included, as decimal texts
// without trailing zeros.
//
//	point i = low + (high − low)·i/(count − 1)
//
// Takes:   low < high, 2 ≤ count ≤ Most.
// Gives:   exact decimals; a point whose decimal does not end, such as a third, is rounded to 6
// digits beyond the span's first.
func Equal(low, high numeric.Exact, count int) []string {
	span := high.Sub(low)
	most := enough(span)
	points := make([]string, count)
	for i := range points {
		part, _ := span.Mul(numeric.ExactInt(i)).Div(numeric.ExactInt(count - 1))
		points[i] = text(low.Add(part), most)
	}
	return points
}

// OfSpan returns the point that lies percent of the span above low.
func OfSpan(low, high, percent numeric.Exact) string {
	span := high.Sub(low)
	part, _ := span.Mul(percent).Div(numeric.ExactInt(100))
	return text(low.Add(part), enough(span))
}

func text(x numeric.Exact, most int) string {
	if s, exact := x.Text(endless); exact {
		return s
	}
	s, _ := x.Text(most)
	return s
}

// endless is the length from which a decimal counts as not ending: halving a typed range ten times
// ends well before.
const endless = 40

// enough returns the places for a point whose decimal does not end.
func enough(span numeric.Exact) int {
	places := furtherDigits
	ten := numeric.ExactInt(10)
	for one := numeric.ExactInt(1); span.Cmp(one) < 0 && places < endless; places++ {
		span = span.Mul(ten)
	}
	for span.Cmp(ten) >= 0 && places > 0 {
		span, _ = span.Div(ten)
		places--
	}
	return places
}

// Step is one visit to a point.
type Step struct {
	Series    int // from 1, one for each run up or down
	Direction string
	Point     int // index into the points
}

// Visits returns the order in which n points are visited.
//
// Takes:   directions "up" or "up-down"; cycles ≥ 1.
// Gives:   up: rising through all points, cycles times. up-down: rising, then falling back through
// all points; the top is read twice, since the falling series has its own reading there. With
// approach "down" every cycle starts at the top instead.
func Visits(n int, directions, approach string, cycles int) []Step {
	first, second := "up", "down"
	if approach == "down" {
		first, second = second, first
	}
	var steps []Step
	series := 0
	run := func(direction string) {
		series++
		for i := range n {
			point := i
			if direction == "down" {
				point = n - 1 - i
			}
			steps = append(steps, Step{series, direction, point})
		}
	}
	for range cycles {
		run(first)
		if directions == "up-down" {
			run(second)
		}
	}
	return steps
}

func place(name string, i int) string { return name + "[" + strconv.Itoa(i) + "]" }
