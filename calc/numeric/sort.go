package numeric

import "math"

// manyNumbers is the count from which sorting by digits is faster.
const manyNumbers = 4096

// Sort sorts numbers in rising order. It is a plain heap sort, and for many numbers a radix sort:
// the sorts of the standard library take 40 kB of the phone's module.
func Sort(x []float64) {
	if len(x) >= manyNumbers {
		byDigits(x)
		return
	}
	sink := func(i, n int) {
		for {
			child := 2*i + 1
			if child >= n {
				return
			}
			if child+1 < n && x[child+1] > x[child] {
				child++
			}
			if x[i] >= x[child] {
				return
			}
			x[i], x[child] = x[child], x[i]
			i = child
		}
	}
	for i := len(x)/2 - 1; i >= 0; i-- {
		sink(i, len(x))
	}
	for n := len(x) - 1; n > 0; n-- {
		x[0], x[n] = x[n], x[0]
		sink(0, n)
	}
}

// byDigits is a radix sort over the bytes of the numbers' bits, the lowest first. The bits of a
// negative number are inverted, so that they rise with the number.
func byDigits(x []float64) {
	const sign = 1 << 63
	from, to := make([]uint64, len(x)), make([]uint64, len(x))
	for i, v := range x {
		b := math.Float64bits(v)
		if b&sign != 0 {
			b = ^b
		} else {
			b |= sign
		}
		from[i] = b
	}
	for shift := 0; shift < 64; shift += 8 {
		var starts [256]int
		for _, b := range from {
			starts[b>>shift&255]++
		}
		if starts[from[0]>>shift&255] == len(from) {
			continue // all have the same byte at this place
		}
		at := 0
		for i, n := range starts {
			starts[i] = at
			at += n
		}
		for _, b := range from {
			k := b >> shift & 255
			to[starts[k]] = b
			starts[k]++
		}
		from, to = to, from
	}
	for i, b := range from {
		if b&sign != 0 {
			b &^= sign
		} else {
			b = ^b
		}
		x[i] = math.Float64frombits(b)
	}
}
