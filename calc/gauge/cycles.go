package gauge

import (
	"math"
	"slices"
	"strconv"

	"gaugewright/calc/numeric"
)

// cycle is one rise and the fall that belongs to it: readings by the index of their point, nil if
// missing.
type cycle struct {
	up, down []*Reading
	mounting int
}

func (c *cycle) side(up bool) []*Reading {
	if up {
		return c.up
	}
	return c.down
}

// points finds the distinct nominal points, rising, and notes in each reading the index of its
// point.
func (t *Task) points() []numeric.Exact {
	list := make([]numeric.Exact, 0, 12)
	order := func(a, b numeric.Exact) int { return a.Cmp(b) }
	last := 0
	find := func(p numeric.Exact) (at int, known bool) {
		for _, k := range [...]int{last + 1, last - 1, last} { // a series goes from one point to the next
			if k >= 0 && k < len(list) && list[k].Cmp(p) == 0 {
				last = k
				return k, true
			}
		}
		last, known = slices.BinarySearchFunc(list, p, order)
		return last, known
	}
	for i := range t.Readings {
		if k, known := find(t.Readings[i].Point); !known {
			list = slices.Insert(list, k, t.Readings[i].Point)
		}
	}
	for i := range t.Readings {
		t.Readings[i].at, _ = find(t.Readings[i].Point)
	}
	return list
}

// cycles gathers the readings: a rising series begins a cycle. A falling one belongs to the rising
// series of its name. If there is none, it belongs to the cycle before it, unless that has a fall
// already.
func (t *Task) cycles(points int, out *Result) []cycle {
	type name struct {
		series string
		up     bool
	}
	var list []cycle
	var names []name
	var of []int // the cycle of a name
	k := -1
	for i := range t.Readings {
		r := &t.Readings[i]
		n := name{r.Series, r.Up}
		if k < 0 || names[k] != n {
			k = slices.Index(names, n)
		}
		if k < 0 {
			c := len(list)
			if j := slices.Index(names, name{r.Series, true}); !r.Up && j >= 0 && list[of[j]].down == nil {
				c = of[j]
			} else if c > 0 && !r.Up && list[c-1].down == nil {
				c--
			} else {
				list = append(list, cycle{})
			}
			names, of = append(names, n), append(of, c)
			k = len(names) - 1
			side := make([]*Reading, points)
			if r.Up {
				list[c].up = side
			} else {
				list[c].down = side
			}
		}
		c := &list[of[k]]
		c.mounting = max(c.mounting, r.Mounting, 1)
		side := c.side(r.Up)
		if side[r.at] != nil {
			out.warn(
				"duplicated_point", r.where(),
				"this series has a reading at this point already; both are judged, the first is used for the spread",
			)
			continue
		}
		side[r.at] = r
	}
	return list
}

// disorder warns of a reading that was approached from the wrong side, because a reading beyond it
// came earlier in its series.
func (t *Task) disorder(out *Result) {
	for i := 1; i < len(t.Readings); i++ {
		a, b := &t.Readings[i-1], &t.Readings[i]
		if a.Series != b.Series || a.Up != b.Up || a.at == b.at {
			continue
		}
		if (b.at > a.at) != b.Up {
			out.warn(
				"out_of_order", b.where(),
				"this reading is out of the order of its series: with hysteresis it counts for the other direction",
			)
		}
	}
}

func (r *Result) zeroDeviation(list []cycle, zero int) {
	for _, c := range list {
		if zero < 0 || c.up == nil || c.down == nil || c.up[zero] == nil || c.down[zero] == nil {
			continue
		}
		r.HasZero = true
		r.ZeroDeviation = max(r.ZeroDeviation, math.Abs(c.down[zero].level-c.up[zero].level))
	}
}

// gaps warns of a series that lacks a point which others have, most often a falling series that
// does not return to zero.
func (r *Result) gaps(list []cycle, points []numeric.Exact) {
	for i, c := range list {
		for _, up := range []bool{true, false} {
			side := c.side(up)
			for k := range side {
				if side[k] != nil {
					continue
				}
				at, _ := points[k].Text(12)
				word := "falling"
				if up {
					word = "rising"
				}
				r.warn(
					"missing_point", "readings",
					"the "+word+" series of cycle "+strconv.Itoa(i+1)+" has no reading at "+at,
				)
			}
		}
	}
}

// changes finds, for each point, repeatability and reproducibility.
//
// Repeatability is the largest change, per direction, between any two cycles of one mounting, each
// less the rising zero reading of its cycle. Reproducibility is the same between the first cycles
// of any two mountings. If one of two cycles has no rising zero reading, no zero is subtracted from
// either, and the change includes the drift of the zero.
//
// Source:  DKD-R 6-1 (2014) clause 8 for two cycles (from memory); over all pairs, so that no cycle
// is preferred: chosen here.
func (r *Result) changes(list []cycle, zero int) {
	lacking := false
	for i := range list {
		for j := range i {
			a, b := &list[j], &list[i]
			same := a.mounting == b.mounting
			if !same && !(first(list, j) && first(list, i)) {
				continue
			}
			za, zb := zeroOf(a, zero), zeroOf(b, zero)
			drift := 0.0
			if za != nil && zb != nil {
				drift = zb.level - za.level
			} else if za != nil || zb != nil {
				lacking = true
			}
			for _, up := range []bool{true, false} {
				x, y := a.side(up), b.side(up)
				if x == nil || y == nil {
					continue
				}
				for k := range x {
					if x[k] == nil || y[k] == nil {
						continue
					}
					p := &r.Points[k]
					change := math.Abs((y[k].level - x[k].level) - drift)
					if same {
						p.Repeatability, p.HasRepeatability = max(p.Repeatability, change), true
					} else {
						p.Reproducibility, p.HasReproducibility = max(p.Reproducibility, change), true
					}
				}
			}
		}
	}
	for i := range r.Points {
		p := &r.Points[i]
		r.Repeatability, r.HasRepeatability = max(r.Repeatability, p.Repeatability), r.HasRepeatability || p.HasRepeatability
		r.Reproducibility = max(r.Reproducibility, p.Reproducibility)
	}
	if lacking {
		r.warn("missing_zero", "readings", "a cycle has no rising reading at zero: the changes between it and others are taken with the drift of zero in them")
	}
}

func zeroOf(c *cycle, zero int) *Reading {
	if zero < 0 || c.up == nil {
		return nil
	}
	return c.up[zero]
}

// first reports whether a cycle is the first of its mounting.
func first(list []cycle, i int) bool {
	for j := range i {
		if list[j].mounting == list[i].mounting {
			return false
		}
	}
	return true
}
