package choose

import (
	"strconv"

	"gaugewright/calc/document"
)

// Samples makes documents out of a maker of documents for the calculation serves.
func Samples(serves func(seed uint64) []byte) []document.Sample {
	return []document.Sample{{
		Calculation: "choose", Make: func(seed uint64) []byte { return chooseSample(serves(seed), seed) },
	},
		{Calculation: "certify", Make: certifySample},
		{Calculation: "bring", Make: func(seed uint64) []byte {
			return bringSample(serves(seed), serves(seed+1), seed)
		}},
		{Calculation: "suitable", Make: func(seed uint64) []byte {
			return suitableSample(serves(seed), serves(seed+1), seed)
		}},
		{Calculation: "certificates", Make: certificatesSample}, {Calculation: "uses", Make: usesSample},
		{Calculation: "stated", Make: statedSample},
	}
}

// bringSample is some stops with the plans of two documents for serves, and the ranges of both.
func bringSample(one, other []byte, seed uint64) []byte {
	d := document.Draws(seed)
	v, err := document.Parse(one)
	v2, err2 := document.Parse(other)
	if err != nil || err2 != nil {
		return nil
	}
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("today", "2026-05-01")
	w.BeginList("stops")
	for _, id := range []string{"i0", "i1", "i2", "i3"}[:1+d.Below(4)] {
		from := []*document.Value{&v, &v2}[d.Below(2)]
		w.Begin()
		w.Text("id", id)
		w.Text("area", []string{"Boiler house", "Gas plant"}[d.Below(2)])
		w.Text("medium", []string{"", "steam", "oxygen"}[d.Below(3)])
		w.Text("connection", []string{"", "G 1/2", "g  1/2", "NPT 1/4"}[d.Below(4)])
		for _, name := range []string{"method", "instrument"} {
			if part, ok := from.Get(name); ok && d.Below(6) > 0 {
				w.Value(name, part)
			}
		}
		w.End()
	}
	w.EndList()
	w.BeginList("standards")
	for _, id := range []string{"s0", "s1", "s2"}[:1+d.Below(3)] {
		w.Begin()
		w.Text("id", id)
		w.Text("name", "reference "+id)
		w.Text("due", []string{"2026-04-30", "2027-01-01"}[d.Below(2)])
		w.BeginList("ranges")
		for _, from := range []*document.Value{&v, &v2} {
			if r, ok := from.Get("range"); ok && d.Below(3) > 0 {
				w.ValueItem(r)
			}
		}
		w.EndList()
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}

// suitableSample is the method of one document for serves, and the instruments of two.
func suitableSample(one, other []byte, seed uint64) []byte {
	d := document.Draws(seed)
	v, err := document.Parse(one)
	v2, err2 := document.Parse(other)
	if err != nil || err2 != nil {
		return nil
	}
	w := document.NewWriter(nil)
	w.Begin()
	if m, ok := v.Get("method"); ok {
		w.Value("method", m)
	}
	w.BeginList("instruments")
	for i, from := range []*document.Value{&v, &v2, &v}[:1+d.Below(3)] {
		w.Begin()
		w.Text("id", "i"+strconv.Itoa(i))
		w.Text("status", []string{"", "in service", "out of service"}[d.Below(3)])
		if it, ok := from.Get("instrument"); ok {
			w.Value("instrument", it)
		}
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}

// chooseSample is the plan and the range of a document for serves, on standards that are in date
// and in service or not.
func chooseSample(serves []byte, seed uint64) []byte {
	d := document.Draws(seed)
	v, err := document.Parse(serves)
	if err != nil {
		return nil
	}
	w := document.NewWriter(nil)
	w.Begin()
	for _, name := range []string{"method", "instrument"} {
		if part, ok := v.Get(name); ok {
			w.Value(name, part)
		}
	}
	w.Text("own", "s0")
	w.Text("today", "2026-05-01")
	for _, role := range []string{meter, barometer} {
		if asked, ok := v.Get(role); ok {
			w.Value(role, asked)
		}
	}
	if air, ok := v.Get("air_hpa"); ok {
		w.Value("air_hpa", air)
	}
	if seed%5 == 0 {
		w.Text("medium", "oxygen")
	}
	w.BeginList("standards")
	for _, id := range []string{"s0", "s1", "s2"}[:1+d.Below(3)] {
		w.Begin()
		w.Text("id", id)
		w.Text("name", "reference "+id)
		w.Text("status", []string{"", "in service", "in repair"}[d.Below(3)])
		w.Text("due", []string{"", "2026-05-01", "2026-04-30", "2027-01-01T00:00:00.000Z"}[d.Below(4)])
		w.Text("calibrated", []string{"", "2025-05-01", "2026-06-01"}[d.Below(3)])
		if seed%5 == 0 {
			w.Text("medium", []string{"gas", "oil", "water"}[d.Below(3)])
			w.Text("cleaned_for_oxygen", []string{"", "2026-01-05", "2026-06-01"}[d.Below(3)])
		}
		w.BeginList("ranges")
		if r, ok := v.Get("range"); ok {
			w.ValueItem(r)
		}
		w.EndList()
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}

const sampleRange = `{"low":"0","high":"20","unit":"bar","of_span_percent":"0.05","drift_per_year":"0.001"`

// certificatesSample is a standard of two ranges with certificates of three days.
func certificatesSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	small := []byte(`{"low":"0","high":"2","unit":"bar"}`)
	w.Begin()
	w.Raw("ranges", []byte("["+sampleRange+"},"+string(small)+"]"))
	w.BeginList("certificates")
	for n := range d.Below(6) {
		w.Begin()
		w.Text("id", "c"+strconv.Itoa(n))
		w.Text("calibrated", "202"+strconv.Itoa(d.Below(3))+"-05-01")
		w.Text("wall", "2026-01-0"+strconv.Itoa(1+d.Below(3)))
		if d.Below(2) == 0 {
			w.Raw("range", small)
		} else {
			w.Raw("range", []byte(sampleRange+"}"))
		}
		w.Raw("points", []byte(`[{"applied":"0"},{"applied":"`+strconv.Itoa(1+d.Below(20))+`"}]`))
		w.End()
	}
	w.EndList()
	if d.Below(2) == 0 {
		w.Raw("range", small)
	}
	w.End()
	return w.Bytes()
}

// usesSample is runs whose visits kept one of two certificates of a standard, or none.
func usesSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	kept := []string{
		`{"id":"s1","range":` + sampleRange + `}}`,
		`{"id":"s1","range":` + sampleRange + `,"points":[{"applied":"0","error":"0","expanded":"0.01","k":"2"}]}}`,
		`{"id":"s1","range":{"low":"0","high":"20","unit":"bar"}}`,
		`{"id":"s1","range":{"low":"0","high":"2","unit":"bar","absolute":"0.001"}}`, `null`,
	}
	w.Begin()
	w.BeginList("uses")
	for range d.Below(12) {
		w.Begin()
		which := d.Below(len(kept))
		w.Raw("standard", []byte(kept[which]))
		w.Text("years_since", [...]string{"", "0.5", "1"}[d.Below(3)])
		w.Flag("unread", which == len(kept)-1)
		w.End()
	}
	w.EndList()
	w.Raw("range", []byte(sampleRange+"}"))
	if d.Below(2) == 0 {
		w.Raw("before", []byte(`[]`))
	}
	w.Raw("after", []byte(`[{"applied":"0","error":"0.02","expanded":"0.01","k":"2"}]`))
	w.Whole("most", 1+d.Below(3))
	w.End()
	return w.Bytes()
}
