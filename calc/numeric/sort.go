package numeric

// Sort puts numbers into rising order. It is a plain heap sort: the sorts of the standard library take 40 kB of the phone's module.
func Sort(x []float64) {
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
