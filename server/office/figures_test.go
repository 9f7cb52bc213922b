package office_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
)

// tested writes an instrument with an interval of 12 months and its visits, one for each error as a
// fraction of its limit; the last was a year ago.
func (p *place) tested(tag, model string, due string, errors ...float64) string {
	p.t.Helper()
	one := p.keep(p.phone.New("instrument", "", "", p.now, set("tag", tag), set("kind", "gauge"), set("manufacturer", "Fennmark"),
		set("model", model), set("area", "Mill"), set("status", "in service"), set("interval_months", 12), set("due", due),
		set("range", doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"})))
	for i, e := range errors {
		at := p.now.AddDate(i-len(errors), 0, 0)
		verdict, adjusted := "pass", math.Abs(e) > 1
		if adjusted {
			verdict = "fail"
		}
		summary := doc{"as_found": found(verdict, e)}
		if adjusted {
			summary["as_left"] = found("pass", 0)
		}
		p.keep(p.phone.New("visit", "", one.ID, at, set("instrument", one.ID), set("started", plant.Stamp(at)),
			set("person", technician), set("method", doc{"id": "m1", "version": 1, "name": "Five points"}),
			set("adjusted", doc{"done": adjusted}), set("summary", summary),
			set("signature", doc{"name": "T", "at": plant.Stamp(at), "covers": []string{}})))
	}
	return one.ID
}

func found(verdict string, e float64) doc {
	return doc{"verdict": verdict, "worst_fraction": math.Abs(e), "points": []doc{
		{"point": "5", "direction": "up", "error": e / 20, "limit": 0.1},
		{"point": "10", "direction": "up", "error": e / 10, "limit": 0.1},
	}}
}

// figures waits until the past is read.
func (p *place) figures(since string) *office.Figures {
	p.t.Helper()
	for range 1000 {
		f, err := p.office.Figures(since)
		if err != nil {
			p.t.Fatal(err)
		}
		if f.Reading == nil {
			return f
		}
		time.Sleep(time.Millisecond)
	}
	p.t.Fatal("the past is not read")
	return nil
}

// TestFigures checks that rates lead to their tests, and that advice and forecast agree.
func TestFigures(t *testing.T) {
	p := newPlace(t)
	due := p.now.AddDate(0, 0, 20).Format(time.DateOnly)
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 20 {
		var list []float64
		for range 6 {
			list = append(list, r.NormFloat64()*0.1)
		}
		p.tested(fmt.Sprintf("PI-%d", i), "Quiet", due, list...)
	}
	drifting := p.tested("PI-D", "Drifts", p.now.AddDate(0, 6, 0).Format(time.DateOnly), 0.05, 0.24, 0.41, 0.6, 0.82, 0.97)
	p.tested("PI-F", "Fails", due, 0.1, 1.2, 0.1, 1.4, 1.5)
	f := p.figures("")
	if f.All.Of != 131 || f.All.Passed != 128 {
		t.Errorf("%+v", f.All)
	}
	// Clopper and Pearson by scipy: binomtest(128, 131).proportion_ci(0.95, 'exact')
	if math.Abs(f.All.Low-0.9345334) > 1e-6 || math.Abs(f.All.High-0.9952522) > 1e-6 {
		t.Errorf("%v … %v", f.All.Low, f.All.High)
	}
	if one := f.Rates["method"]; len(one) != 1 || one[0].Value != "Five points" || one[0].Of != 131 {
		t.Errorf("%+v", one)
	}
	list, err := p.office.Tests(office.TestsQuery{By: "manufacturer", Value: "Fennmark", Out: true, Most: 10})
	if err != nil || list.Found != 3 || list.Rows[0].Tag != "PI-F" {
		t.Errorf("%+v %v", list, err)
	}
	if len(f.Worst) != 1 || f.Worst[0].Tag != "PI-F" || f.Worst[0].Action != "reduce" || f.Worst[0].Reason != "outside" {
		t.Errorf("%+v", f.Worst)
	}
	all, err := p.office.Advices(office.AdviceQuery{Most: 100})
	if err != nil || all.Found != 22 {
		t.Fatal(all.Found, err)
	}
	for _, a := range all.Rows {
		if a.Chance != nil && *a.Chance > 0.05 && (a.Action == "keep" || a.Action == "extend") {
			t.Errorf("%s: %s (%s) beside a chance of %v", a.Tag, a.Action, a.Reason, *a.Chance)
		}
		if a.Action == "extend" && (a.After == nil || *a.After > 0.05) {
			t.Errorf("%s: longer, and then %v", a.Tag, a.After)
		}
	}
	if f.Actions["extend"] < 10 || f.Cost.HoursThen >= f.Cost.HoursNow || f.Cost.All != 22 {
		t.Errorf("%+v %+v", f.Actions, f.Cost)
	}
	out, err := p.office.Outlook(drifting)
	if err != nil || out.Point != "10" || len(out.Found) != 6 || len(out.Ahead) == 0 || out.Advice.Action != "sooner" {
		t.Errorf("%+v %+v %v", out, out.Advice, err)
	}
}

// TestDecide checks that an accepted advice changes interval and due date once, says who decided
// and why, is not given again before the next test, and can be undone. A declined advice changes
// nothing else.
func TestDecide(t *testing.T) {
	p := newPlace(t)
	due := p.now.AddDate(0, 0, 20).Format(time.DateOnly)
	taken := p.tested("PI-1", "Fails", due, 0.1, 1.2)
	left := p.tested("PI-2", "Fails", due, 0.1, 1.2)
	p.figures("")
	d := office.Deciding{Instruments: []string{taken}, Accept: true, Why: "twice out in two years", Shown: []string{"reduce 9"}}
	if _, err := p.office.Decide(t.Context(), reviewer, d); err == nil {
		t.Error("accepted as it was not shown")
	}
	d.Shown[0] = "reduce 8"
	noWords := d
	noWords.Why = " "
	if _, err := p.office.Decide(t.Context(), reviewer, noWords); err == nil {
		t.Error("accepted without a reason")
	}
	if n, err := p.office.Decide(t.Context(), reviewer, d); err != nil || n != 1 {
		t.Fatal(n, err)
	}
	s, err := p.office.Record(taken)
	if err != nil {
		t.Fatal(err)
	}
	v, err := plant.ReadInstrument(s)
	if err != nil || v.IntervalMonths != 8 || v.Due != "2025-11-04" {
		t.Errorf("%d months, due %s, %v", v.IntervalMonths, v.Due, err)
	}
	p.figures("")
	out, err := p.office.Outlook(taken)
	if err != nil || out.Advice.Action != office.Decided || len(out.Decisions) != 1 || out.Decisions[0].By != reviewer ||
		out.Decisions[0].Why != d.Why || !out.Decisions[0].Accepted || out.Decisions[0].Was != 12 {
		t.Errorf("%+v %+v %v", out.Advice, out.Decisions, err)
	}
	d.Instruments, d.Accept = []string{left}, false
	if _, err := p.office.Decide(t.Context(), reviewer, d); err != nil {
		t.Fatal(err)
	}
	if s, err = p.office.Record(left); err != nil {
		t.Fatal(err)
	}
	if v, err = plant.ReadInstrument(s); err != nil || v.IntervalMonths != 12 || v.Due != due {
		t.Errorf("not taken: %d months, due %s, %v", v.IntervalMonths, v.Due, err)
	}
	list, err := p.office.Bulks()
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	if n, kept, err := p.office.UndoBulk(t.Context(), reviewer, list[0].ID); err != nil || n != 1 || len(kept) > 0 {
		t.Error(n, kept, err)
	}
}

// BenchmarkFigures measures the figures of 20,000 instruments with five years of tests.
func BenchmarkFigures(b *testing.B) {
	p := newPlace(b)
	r := rand.New(rand.NewPCG(5, 5))
	var list []change.Change
	add := func(kind, parent string, at time.Time, sets ...plant.Set) string {
		c, s, err := p.phone.New(kind, "", parent, at, sets...)
		if err != nil {
			b.Fatal(err)
		}
		list = append(list, c)
		if len(list) == 4000 {
			p.flush(b, &list)
		}
		return s.ID
	}
	var last string
	for i := range 20_000 {
		last = add("instrument", "", p.now, set("tag", fmt.Sprint("PI-", i)), set("kind", "gauge"),
			set("manufacturer", []string{"Fennmark", "Osterholt"}[i%2]), set("model", fmt.Sprint("M", i%40)),
			set("area", fmt.Sprint("Area ", i%60)), set("status", "in service"), set("interval_months", 12),
			set("due", p.now.AddDate(0, 0, i%400-60).Format(time.DateOnly)),
			set("range", doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}))
		slope := r.NormFloat64() * 0.1
		for year := range 5 {
			at := p.now.AddDate(year-5, 0, i%30)
			points := []doc{}
			e, most := 0.0, 0.0
			for k := range 6 {
				e = slope*float64(year)*float64(k)/5 + r.NormFloat64()*0.15
				most = max(most, math.Abs(e))
				points = append(points, doc{"point": fmt.Sprint(2 * k), "direction": "up", "error": e / 10, "limit": 0.1})
			}
			verdict := "pass"
			if most > 1 {
				verdict = "fail"
			}
			add("visit", last, at, set("instrument", last), set("started", plant.Stamp(at)), set("person", technician),
				set("method", doc{"id": "m1", "version": 1, "name": "Five points"}),
				set("summary", doc{"as_found": doc{"verdict": verdict, "worst_fraction": most, "points": points}}),
				set("signature", doc{"name": "T", "at": plant.Stamp(at), "covers": []string{}}))
		}
	}
	p.flush(b, &list)
	began := time.Now()
	for {
		f, err := p.office.Figures("")
		if err != nil {
			b.Fatal(err)
		}
		if f.Reading == nil {
			break
		}
	}
	b.Logf("first read of the past: %v", time.Since(began))
	b.Run("kept", func(b *testing.B) {
		for b.Loop() {
			p.figures("")
		}
	})
	b.Run("after a change", func(b *testing.B) {
		for n := 0; b.Loop(); n++ {
			s, err := p.office.Record(last)
			if err != nil {
				b.Fatal(err)
			}
			c, _, err := p.phone.Edit(s, p.now, set("place", fmt.Sprint("Bay ", n)))
			if err != nil {
				b.Fatal(err)
			}
			if _, err := p.store.Add(b.Context(), []change.Change{c}); err != nil {
				b.Fatal(err)
			}
			p.figures("")
		}
	})
	b.Run("tests behind a figure", func(b *testing.B) {
		for b.Loop() {
			if _, err := p.office.Tests(office.TestsQuery{By: "area", Value: "Area 3", Most: 100}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func (p *place) flush(b *testing.B, list *[]change.Change) {
	if r, err := p.store.Add(b.Context(), *list); err != nil || len(r.Refused) > 0 {
		b.Fatal(err, r.Refused)
	}
	*list = (*list)[:0]
}
