package office_test

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"syscall"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// large is a store with 20,000 instruments of an invented plant, each with two visits.
func large(b *testing.B, at time.Time) *store.Store {
	b.Helper()
	s, err := store.Open(b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		if err := s.Close(); err != nil {
			b.Error(err)
		}
	})
	drafter := plant.Drafter{Device: "b00k", Author: reviewer, Random: rand.NewChaCha8([32]byte{2})}
	var list []change.Change
	add := func(kind, parent string, sets ...plant.Set) string {
		c, state, err := drafter.New(kind, "", parent, at, sets...)
		if err != nil {
			b.Fatal(err)
		}
		list = append(list, c)
		return state.ID
	}
	method := add("method", "", set("name", "Five points"), set("kind", "gauge"),
		set("definition", doc{"kind": "gauge", "points": doc{"count": 5}, "decision": doc{"rule": "simple"}}))
	for i := range 6 {
		add("standard", "", set("name", fmt.Sprint("Kit ", i)), set("due", "2027-01-01"), set("calibrated", "2026-01-01"),
			set("ranges", []doc{{"low": "-1", "high": fmt.Sprint(4 << i), "unit": "bar", "mode": "gauge",
				"of_span_percent": "0.02", "k": "2"}}))
	}
	for i := range 20_000 {
		high := []string{"1.6", "2.5", "4", "6", "10", "16", "25", "40", "60", "100"}[i%10]
		facts := []plant.Set{
			set("tag", fmt.Sprintf("PI-%d", 10_000+i)), set("serial", fmt.Sprintf("S%d", 300_000+i*7)),
			set("description", fmt.Sprintf("Line %d, %s", i%400, []string{"pump", "filter", "header"}[i%3])),
			set("kind", "gauge"), set("manufacturer", []string{"Fennmark", "Osterholt"}[i%2]), set("model", "FM"),
			set("range", doc{"low": "0", "high": high, "unit": "bar", "mode": "gauge"}), set("resolution", "0.01"),
			set("limit", doc{"rule": "en837", "class": []string{"1", "1.6"}[i/10%2]}), set("method", method),
			set("area", fmt.Sprintf("Area %d", i%40)), set("place", fmt.Sprintf("Bay %d", i%90)),
			set("interval_months", 12), set("due", at.AddDate(0, 0, i%500-100).Format(time.DateOnly)),
			set("status", "in service"),
		}
		id := add("instrument", "", facts...)
		for year := range 2 {
			add("visit", id, set("instrument", id), set("started", plant.Stamp(at.AddDate(year-2, 0, 0))),
				set("item", doc{"tag": fmt.Sprint(i)}), set("person", technician),
				set(
					"summary",
					doc{
						"as_found": doc{
							"verdict": []string{"pass", "fail"}[i%9/8], "worst_fraction": 0.4, "points": []doc{},
						},
					},
				),
				set("signature", doc{"name": "T", "at": plant.Stamp(at), "covers": []string{}}))
		}
	}
	for len(list) > 0 {
		n := min(len(list), 4000)
		if r, err := s.Add(b.Context(), list[:n]); err != nil || len(r.Refused) > 0 {
			b.Fatal(err, r.Refused)
		}
		list = list[n:]
	}
	return s
}

// spent is the processor time of this process so far, which other processes do not stretch.
func spent(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// each runs work as a benchmark and reports the processor time.
func each(b *testing.B, name string, work func(*testing.B)) {
	b.Run(name, func(b *testing.B) {
		runtime.GC()
		began := spent(b)
		for b.Loop() {
			work(b)
		}
		b.ReportMetric(float64(spent(b)-began)/float64(b.N)/1e6, "cpu-ms/op")
	})
}

// BenchmarkTable measures pages of a register of 20,000 instruments with 40,000 visits.
func BenchmarkTable(b *testing.B) {
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	s := large(b, at)
	now := func() time.Time { return at }
	first := func(b *testing.B) {
		o := office.New(s, nil, now)
		if t, err := o.Table(office.Query{Most: 100}); err != nil || t.All != 20_000 {
			b.Fatal(t.All, err)
		}
	}
	first(b) // once per store: its index is not kept yet
	each(b, "first read after a start", first)
	o := office.New(s, nil, now)
	if _, err := o.Table(office.Query{Most: 100, Standard: office.NoStandard}); err != nil {
		b.Fatal(err)
	}
	for _, one := range []struct {
		name string
		q    office.Query
	}{
		{"first page", office.Query{}},
		{"last page", office.Query{From: 19_900}},
		{"by due", office.Query{Sort: "due", Down: true, From: 10_000}},
		{"filtered", office.Query{Only: map[string][]string{"area": {"Area 3"}, "verdict": {"fail"}}, Due: "overdue"}},
		{"search", office.Query{Text: "header line 39"}},
		{"search with a slip", office.Query{Text: "heaedr"}},
		{"standard", office.Query{Standard: office.NoStandard}},
	} {
		one.q.Most = 100
		each(b, one.name, func(b *testing.B) {
			if _, err := o.Table(one.q); err != nil {
				b.Fatal(err)
			}
		})
	}
}

// BenchmarkWorkload measures planning a year and a week for a plant of 20,000 instruments.
func BenchmarkWorkload(b *testing.B) {
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	s := large(b, at)
	now := func() time.Time { return at }
	k, err := auth.New(s, now)
	if err != nil {
		b.Fatal(err)
	}
	for _, id := range []string{"techn1c1an", "techn1c2an"} {
		if _, err := k.Add(id, id, auth.Technician, "a long enough secret"); err != nil {
			b.Fatal(err)
		}
	}
	o := office.New(s, k, now)
	if w, err := o.Workload(); err != nil || w.All != 20_000 {
		b.Fatal(w.All, err)
	}
	each(b, "year", func(b *testing.B) {
		if _, err := o.Workload(); err != nil {
			b.Fatal(err)
		}
	})
	each(b, "week", func(b *testing.B) {
		if _, err := o.Board("2026-03-10"); err != nil {
			b.Fatal(err)
		}
	})
}

// BenchmarkQueue measures what waits for the office, and a day, of a plant with 20,000 instruments of
// which every visit waits: the first 400 and 200 of them.
func BenchmarkQueue(b *testing.B) {
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	s := large(b, at)
	now := func() time.Time { return at }
	k, err := auth.New(s, now)
	if err != nil {
		b.Fatal(err)
	}
	queue := func(b *testing.B, o *office.Office) office.Queue {
		q, err := o.Queue(office.Ask{})
		if err != nil || q.All != 40_000 {
			b.Fatal(q.All, err)
		}
		return q
	}
	o := office.New(s, k, now)
	first := queue(b, o).Rows[0].ID
	each(b, "first after a start", func(b *testing.B) { queue(b, office.New(s, k, now)) })
	each(b, "queue", func(b *testing.B) { queue(b, o) })
	drafter := plant.Drafter{Device: "ph0ne", Author: technician, Random: rand.NewChaCha8([32]byte{7})}
	if drafter.Count, err = plant.HighestCount(s); err != nil {
		b.Fatal(err)
	}
	pushes := 0
	each(b, "queue after a push", func(b *testing.B) {
		state, _, err := s.Record(first)
		if err != nil {
			b.Fatal(err)
		}
		c, _, err := drafter.Edit(state, at, set("remark.r", fmt.Sprint("turned ", pushes)))
		if err != nil {
			b.Fatal(err)
		}
		if r, err := s.Add(b.Context(), []change.Change{c}); err != nil || len(r.Refused) > 0 {
			b.Fatal(err, r.Refused)
		}
		pushes++
		queue(b, o)
	})
	each(b, "day", func(b *testing.B) {
		if d, err := o.Day("2026-02-01"); err != nil || len(d.Waiting) != 200 {
			b.Fatal(len(d.Waiting), err)
		}
	})
}
