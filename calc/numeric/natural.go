package numeric

import "math/bits"

// natural is a whole number from zero up, in words of 32 bits, the lowest first, without leading
// zero words.
type natural []uint32

func naturalOf(x uint64) natural { return natural{uint32(x), uint32(x >> 32)}.trim() }

func (a natural) trim() natural {
	for len(a) > 0 && a[len(a)-1] == 0 {
		a = a[:len(a)-1]
	}
	return a
}

func (a natural) cmp(b natural) int {
	if len(a) != len(b) {
		if len(a) < len(b) {
			return -1
		}
		return 1
	}
	for i := len(a) - 1; i >= 0; i-- {
		if a[i] != b[i] {
			if a[i] < b[i] {
				return -1
			}
			return 1
		}
	}
	return 0
}

func (a natural) plus(b natural) natural {
	if len(a) < len(b) {
		a, b = b, a
	}
	sum := make(natural, len(a)+1)
	var carry uint64
	for i := range a {
		carry += uint64(a[i])
		if i < len(b) {
			carry += uint64(b[i])
		}
		sum[i] = uint32(carry)
		carry >>= 32
	}
	sum[len(a)] = uint32(carry)
	return sum.trim()
}

// minus returns a − b for a ≥ b.
func (a natural) minus(b natural) natural {
	d := make(natural, len(a))
	var borrow uint64
	for i := range a {
		x := uint64(a[i]) - borrow
		if i < len(b) {
			x -= uint64(b[i])
		}
		d[i] = uint32(x)
		borrow = x >> 63
	}
	return d.trim()
}

func (a natural) times(b natural) natural {
	p := make(natural, len(a)+len(b))
	for i := range a {
		var carry uint64
		for j := range b {
			carry += uint64(a[i])*uint64(b[j]) + uint64(p[i+j])
			p[i+j] = uint32(carry)
			carry >>= 32
		}
		p[i+len(b)] = uint32(carry)
	}
	return p.trim()
}

func (a natural) bits() int {
	if len(a) == 0 {
		return 0
	}
	return 32*(len(a)-1) + bits.Len32(a[len(a)-1])
}

func (a natural) shifted(n int) natural {
	if len(a) == 0 {
		return nil
	}
	out := make(natural, len(a)+n/32+1)
	for i, w := range a {
		v := uint64(w) << (n % 32)
		out[i+n/32] |= uint32(v)
		out[i+n/32+1] |= uint32(v >> 32)
	}
	return out.trim()
}

// over returns the quotient and the remainder of a/b, b > 0, one bit at a time: the numbers here
// have a few hundred bits.
func (a natural) over(b natural) (quotient, remainder natural) {
	n := a.bits() - b.bits()
	if n < 0 {
		return nil, a
	}
	q := make(natural, n/32+1)
	d := b.shifted(n)
	for i := n; i >= 0; i-- {
		if a.cmp(d) >= 0 {
			a = a.minus(d)
			q[i/32] |= 1 << (i % 32)
		}
		d = d.halved()
	}
	return q.trim(), a
}

func (a natural) halved() natural {
	out := make(natural, len(a))
	var carry uint32
	for i := len(a) - 1; i >= 0; i-- {
		out[i] = a[i]>>1 | carry<<31
		carry = a[i] & 1
	}
	return out.trim()
}

// word returns a number below 2^64 as one word.
func (a natural) word() uint64 {
	var x uint64
	for i := len(a) - 1; i >= 0; i-- {
		x = x<<32 | uint64(a[i])
	}
	return x
}

// small divides by d in place and returns the remainder.
func (a natural) small(d uint32) (natural, uint32) {
	out := make(natural, len(a))
	var rest uint64
	for i := len(a) - 1; i >= 0; i-- {
		rest = rest<<32 | uint64(a[i])
		out[i] = uint32(rest / uint64(d))
		rest %= uint64(d)
	}
	return out.trim(), uint32(rest)
}

func powerOfTen(n int) natural {
	p := natural{1}
	for ; n >= 9; n -= 9 {
		p = p.times(natural{1000000000})
	}
	for ; n > 0; n-- {
		p = p.times(natural{10})
	}
	return p
}

func (a natural) digits() string {
	if len(a) == 0 {
		return "0"
	}
	var b []byte
	for len(a) > 0 {
		var d uint32
		a, d = a.small(10)
		b = append(b, byte('0'+d))
	}
	for i, j := 0, len(b)-1; i < j; i, j = i+1, j-1 {
		b[i], b[j] = b[j], b[i]
	}
	return string(b)
}
