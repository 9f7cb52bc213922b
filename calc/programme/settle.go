package programme

import (
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// settle judges a wait for rest by typed values with their times, or by a logger's samples. Rest is
// reached when all values over the required time lie in a band of twice "within". The wait is over
// without rest when "at most" has passed since it began, or when a person ended it.
func (w *walker) settle(s *Step) bool {
	i := w.put(Instance{ID: w.pass(s), Step: s, Do: Settle, Of: "settle", Unit: w.course.Unit}, true)
	w.fresh = true
	list := w.traced(i.ID)
	begun, known := int64(0), false
	if len(list) == 0 {
		list = w.entries(i.ID, "settle")
		for _, d := range list {
			if d.Timed {
				w.moment(i, d.At)
			}
		}
		begun, known = w.rec.Done[i.ID+".begun"]
	}
	if !known && len(list) > 0 {
		begun = list[0].At
	}
	reached, over, why := rest(s, list, begun)
	_, ticked := w.rec.Done[i.ID]
	if ticked {
		w.moment(i, w.rec.Done[i.ID])
	}
	i.Settled, i.Over = reached, reached || over
	i.Done = i.Over || ticked || w.rec.Whole && (len(list) > 0 || w.rec.Over)
	w.after(i)
	if !i.Done {
		return len(s.Else) == 0 && w.fault == nil
	}
	switch {
	case reached:
		w.branch(i.ID, s, "met", why)
		return true
	case len(s.Else) > 0:
		w.branch(i.ID, s, "else", why)
		return w.list(s.Else)
	}
	w.branch(i.ID, s, "on", why)
	w.flag(i.ID, "not_settled", "gone on although the pressure was not seen at rest: "+why)
	return true
}

// rest looks through values for a stretch at rest, in one pass: lows and highs hold the indices in
// the stretch that can still become its least and its greatest value.
func rest(s *Step, list []*Datum, begun int64) (reached, over bool, why string) {
	band, _ := numeric.ParseExact(s.Within)
	band = band.Add(band)
	need := milliseconds(s.Seconds)
	last := begun + milliseconds(s.AtMost)
	longest := int64(-1)
	start := 0
	var lows, highs []int
	for k, d := range list {
		if !d.Timed || k > 0 && d.At < list[k-1].At {
			start, lows, highs = k, nil, nil // a clock that went back ends the stretch
		}
		if !d.Timed || d.At > last {
			start, lows, highs = k+1, nil, nil
			continue
		}
		for len(lows) > 0 && list[lows[len(lows)-1]].Value.Cmp(d.Value) >= 0 {
			lows = lows[:len(lows)-1]
		}
		for len(highs) > 0 && list[highs[len(highs)-1]].Value.Cmp(d.Value) <= 0 {
			highs = highs[:len(highs)-1]
		}
		lows, highs = append(lows, k), append(highs, k)
		for list[highs[0]].Value.Sub(list[lows[0]].Value).Cmp(band) > 0 {
			start = min(lows[0], highs[0]) + 1
			if lows[0] < start {
				lows = lows[1:]
			}
			if highs[0] < start {
				highs = highs[1:]
			}
		}
		span := d.At - list[start].At
		longest = max(longest, span)
		if span >= need {
			return true, true, "all values of " + seconds(span) + " s lie within " + readable(
				list[highs[0]].Value.Sub(list[lows[0]].Value),
			)
		}
	}
	over = len(list) > 0 && list[len(list)-1].At > last
	switch {
	case len(list) == 0:
		why = "no value was taken"
	case longest < 0:
		why = "the values have no times to be judged by"
	default:
		why = "the longest stretch within " + readable(band) + " was " + seconds(longest) + " s, not " + s.Seconds + " s"
	}
	if over {
		why += ", and " + s.AtMost + " s are over"
	}
	return false, over, why
}

func milliseconds(text string) int64 {
	x := float64(value(text) * 1000)
	if x > 1e15 {
		x = 1e15
	}
	return int64(x)
}

func seconds(ms int64) string {
	whole := strconv.FormatInt(ms/1000, 10)
	if tenth := ms % 1000 / 100; tenth > 0 {
		whole += "." + strconv.FormatInt(tenth, 10)
	}
	return whole
}

func messageOf(err error) string { return document.AsFault(err).Message }
