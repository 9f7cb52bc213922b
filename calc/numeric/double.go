package numeric

// A pair hi + lo of float64 carries about 106 bits. The steps are the error-free sum of Knuth and
// product of Veltkamp and Dekker.
//
// Source: T. J. Dekker, Numer. Math. 18 (1971) 224-242 (from memory).
type pair struct{ hi, lo float64 }

// twoSum returns a + b exactly.
func twoSum(a, b float64) pair {
	s := a + b
	t := s - a
	return pair{s, (a - (s - t)) + (b - t)}
}

// quickSum returns a + b exactly where |a| ≥ |b|.
func quickSum(a, b float64) pair {
	s := a + b
	return pair{s, b - (s - a)}
}

func split(a float64) (high, low float64) {
	const splitter = 1<<27 + 1
	t := float64(splitter * a)
	high = t - (t - a)
	return high, a - high
}

// twoProduct returns a·b exactly for factors below 2^996 whose product does not underflow.
func twoProduct(a, b float64) pair {
	p := float64(a * b)
	ah, al := split(a)
	bh, bl := split(b)
	return pair{p, ((float64(ah*bh) - p) + float64(ah*bl) + float64(al*bh)) + float64(al*bl)}
}

func (a pair) times(b pair) pair {
	p := twoProduct(a.hi, b.hi)
	return quickSum(p.hi, p.lo+(float64(a.hi*b.lo)+float64(a.lo*b.hi)))
}

func (a pair) timesFloat(b float64) pair {
	p := twoProduct(a.hi, b)
	return quickSum(p.hi, p.lo+float64(a.lo*b))
}

func (a pair) plus(b pair) pair {
	s := twoSum(a.hi, b.hi)
	return quickSum(s.hi, s.lo+(a.lo+b.lo))
}

// over returns a/b for float64 a and b.
func over(a, b pair) pair {
	q := a.hi / b.hi
	p := twoProduct(q, b.hi)
	r := ((a.hi - p.hi) - p.lo) + (a.lo - float64(q*b.lo))
	return quickSum(q, r/b.hi)
}

// doubled returns 2a.
func (a pair) doubled() pair { return pair{float64(2 * a.hi), float64(2 * a.lo)} }
