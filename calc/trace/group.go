package trace

import "gaugewright/calc/numeric"

// flush keeps the samples that represent a group of rows.
//
//	mean: the means of time, pressure, temperature and barometer
//	extremes: first, last, least, greatest with its neighbours, and around every change of the contact the row before it and 16 from it on
//
// Source:  derived here; a single sample that stands out still does so among its neighbours, and a
// lasting change of the contact is still seen to last.
func (t *taker) flush() {
	g, s := t.group, &t.s
	if len(g) == 0 {
		return
	}
	t.group = g[:0]
	if t.r.Mean {
		t.out = append(t.out, mean(g))
		s.Kept++
		return
	}
	n := len(g)
	low, high := 0, 0
	for i := range g {
		if g[i].P < g[low].P {
			low = i
		}
		if g[i].P > g[high].P {
			high = i
		}
	}
	contact := t.r.Contact.At > 0
	for i := range g {
		before := false // a change of state follows
		if contact {
			if s.HasContact && g[i].Contact != s.Contact {
				s.Changes++
				s.After = afterEdge
			}
			s.Contact, s.HasContact = g[i].Contact, true
			before = i+1 < n && g[i+1].Contact != g[i].Contact
		}
		if i == 0 || i == n-1 || i == low || i >= high-1 && i <= high+1 || s.After > 0 || before {
			t.out = append(t.out, g[i])
			s.Kept++
		}
		if s.After > 0 {
			s.After--
		}
	}
}

func mean(g []Sample) Sample {
	v := make([]float64, len(g))
	of := func(field func(*Sample) float64) float64 {
		for i := range g {
			v[i] = field(&g[i])
		}
		return numeric.Mean(v)
	}
	return Sample{
		T:           of(func(x *Sample) float64 { return x.T }),
		P:           of(func(x *Sample) float64 { return x.P }),
		Temperature: of(func(x *Sample) float64 { return x.Temperature }),
		Barometer:   of(func(x *Sample) float64 { return x.Barometer }),
	}
}

// Thin reduces samples to the number wanted or fewer, by groups of equal numbers of rows.
//
// Takes:   samples, whether they have a contact, the number wanted (≥ 10; more are kept if the
// contact changes often), mean or extremes.
// Gives:   the samples kept and the rows in a group; all samples if they are few enough.
func Thin(list []Sample, contact bool, most int, means bool) ([]Sample, int) {
	block := BlockFor(len(list), most, means)
	if block == 1 {
		return list, 1
	}
	r := Reading{Mean: means, Block: block}
	if contact {
		r.Contact.At = 1
	}
	t := taker{r: &r}
	for from := 0; from < len(list); from += block {
		t.group = list[from:min(from+block, len(list))]
		t.flush()
	}
	return t.out, block
}

// each is the largest number of samples that represent a group, apart from changes of the contact.
const each = 6

// BlockFor returns the number of rows in a group such that no more than most samples of n rows are
// kept.
func BlockFor(n, most int, means bool) int {
	if n <= most {
		return 1
	}
	groups := most
	if !means {
		groups = most / each
	}
	groups = max(groups, 1)
	return (n + groups - 1) / groups
}
