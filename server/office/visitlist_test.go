package office

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/server/plant"
)

// TestMomentsKeepTheirText checks that a packed moment gives back its text, and that moments are in
// the order of time, whatever their zones.
func TestMomentsKeepTheirText(t *testing.T) {
	w := newWords()
	ordered := []string{
		"", "never", "0001-01-01T00:00:00Z", "1969-12-31T23:59:59.999Z", "1970-01-01T00:00:00.000Z",
		"2026-03-04T05:06:07+02:00", "2026-03-04T04:06:07Z", "2026-03-04T04:06:07.001Z",
		"2026-03-04T00:00:07.002-04:06", "2026-03-04T04:06:07.0025Z", "2026-03-04T04:06:07.003+00:00",
		"2026-03-04T04:06:07.004+05:45", "9999-12-31T23:59:59.999Z",
	}
	slices.SortStableFunc(ordered[3:], func(a, b string) int {
		x, _ := time.Parse(time.RFC3339, a)
		y, _ := time.Parse(time.RFC3339, b)
		return x.Truncate(time.Millisecond).Compare(y.Truncate(time.Millisecond))
	})
	for i, text := range ordered {
		m := w.moment(text)
		if got := w.text(m); got != text {
			t.Errorf("%q came back as %q", text, got)
		}
		if i > 0 && w.order(w.moment(ordered[i-1]), m) > 0 {
			t.Errorf("%q comes after %q", ordered[i-1], text)
		}
		if w.order(m, m) != 0 {
			t.Errorf("%q is not the same as itself", text)
		}
	}
	plain, zoned := w.moment("2026-03-04T05:06:07.089Z"), w.moment("2026-03-04T05:06:07+02:00")
	if plain&odd != 0 || zoned&odd != 0 {
		t.Error("a usual moment takes up a word")
	}
}

// TestVisitListFindsAll checks that each visit is found by its id, and no other, however many there are.
func TestVisitListFindsAll(t *testing.T) {
	l, random := newVisitList(), rand.New(rand.NewPCG(8, 9))
	var ids []string
	for i := range 3*visitPart + 7 {
		id := strings.Repeat("x", i%5) + fmt.Sprintf("%x", random.Uint64())
		if _, known := l.find(id); known {
			t.Fatalf("%s is known before it comes", id)
		}
		ids = append(ids, id)
		if n, e := l.add(id); int(n) != i || e.id.text() != id {
			t.Fatalf("%s is %d, %s", id, n, e.id.text())
		}
	}
	for i, id := range ids {
		if n, known := l.find(id); !known || int(n) != i {
			t.Fatalf("%s is %d, %v; want %d", id, n, known, i)
		}
	}
	full := strings.Repeat("z", 26)
	if n, e := l.add(full); e.id.text() != full || l.at(n) != e {
		t.Error("an id of 26 characters does not come back")
	}
}

// TestAlikeInstrumentsShareTheirRanges checks that a range and a limit that many instruments have are
// in memory once, and that a record without them does no harm.
func TestAlikeInstrumentsShareTheirRanges(t *testing.T) {
	fact := func(high string) *facts {
		return &facts{Gauge: Gauge{
			Range: &plant.Range{Low: "0", High: plant.Decimal(high), Unit: "bar"}, Limit: &plant.Limit{Class: "1.6"},
		}}
	}
	a, b, c := newCard(fact("10")), newCard(fact("10")), newCard(fact("16"))
	if a.Range != b.Range || a.Limit != c.Limit {
		t.Error("alike ranges or limits are in memory twice")
	}
	if a.Range == c.Range || c.Range.High != "16" || c.reach != "0 … 16 bar" {
		t.Errorf("the range of another instrument: %+v", c.Range)
	}
	if none := newCard(&facts{}); *none.Range != (plant.Range{}) || *none.Limit != (plant.Limit{}) {
		t.Errorf("without a range: %+v", none.Gauge)
	}
}
