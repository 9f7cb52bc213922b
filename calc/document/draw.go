package document

// Draws is a seeded sequence of numbers (SplitMix64) from which calculations make their sample
// documents.
type Draws uint64

// Next returns 64 bits.
func (d *Draws) Next() uint64 {
	*d += 0x9E3779B97F4A7C15
	z := uint64(*d)
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return z ^ z>>31
}

// Between returns a number from low up to high.
func (d *Draws) Between(low, high float64) float64 {
	return low + float64((high-low)*float64(float64(d.Next()>>11)/(1<<53)))
}

// Below returns a whole number from 0 to n−1.
func (d *Draws) Below(n int) int { return int(d.Next() % uint64(n)) }
