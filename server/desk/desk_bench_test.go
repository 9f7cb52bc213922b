package desk_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// BenchmarkLookback judges 5,000 visits with one standard again in one look-back.
func BenchmarkLookback(b *testing.B) {
	const visits = 5000
	p := newPlace(b, 0)
	s := p.master()
	value, _ := s.Value("ranges")
	var ranges []json.RawMessage
	if err := json.Unmarshal(value, &ranges); err != nil {
		b.Fatal(err)
	}
	at := plant.Stamp(p.now)
	definition := doc{"kind": "gauge", "points": doc{"values": []string{"0", "2.5", "5", "7.5", "10"}},
		"directions": "up-down", "cycles": 1, "exercise": 0, "tap": false, "hold_s": 0, "hold_top_s": 0,
		"way": "applied-set", "decision": doc{"rule": "simple"}}
	snapshot := doc{"name": "Master", "serial": "S1", "calibrated": "2026-01-10", "due": "2027-01-10", "range": ranges[0]}
	var list []change.Change
	take := func(c change.Change, s merge.State, err error) merge.State {
		if err != nil {
			b.Fatal(err)
		}
		list = append(list, c)
		return s
	}
	var finding json.RawMessage
	for i := range visits {
		v := take(p.drafter.New("visit", "", "", p.now, set("instrument", fmt.Sprintf("i%d", i%1000)), set("person", reviewer),
			set("started", at), set("item", doc{"tag": fmt.Sprintf("PI-%d", i%1000), "serial": "S", "description": "outlet",
				"range":      doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"},
				"resolution": "0.02", "limit": doc{"rule": "en837", "class": "1"}}),
			set("standard", doc{"id": s.ID, "range": ranges[0], "snapshot": snapshot}),
			set("method", doc{"id": "m", "version": 1, "name": "Yearly", "definition": definition})))
		fields := []plant.Set{set("label", "as found"), set("plan", doc{"steps": []doc{}})}
		for k, step := range []string{"s1.up.0", "s1.up.1", "s1.up.2", "s1.up.3", "s1.up.4", "s1.down.4", "s1.down.3", "s1.down.2", "s1.down.1", "s1.down.0"} {
			shown := []string{"0", "2.52", "5.04", "7.56", "10.06", "10.06", "7.58", "5.06", "2.54", "0.02"}[k]
			fields = append(fields, set(fmt.Sprintf("capture.c%d", k), doc{"step": step, "of": "indicated", "value": shown, "unit": "bar", "at": at}))
		}
		run := take(p.drafter.New("run", "", v.ID, p.now, fields...))
		if finding == nil {
			visit, err := plant.ReadVisit(v)
			if err != nil {
				b.Fatal(err)
			}
			r, err := plant.ReadRun(run)
			if err != nil {
				b.Fatal(err)
			}
			sheet, err := visit.Sheet(&r, true)
			if err != nil {
				b.Fatal(err)
			}
			finding = calc.Call("evaluate", sheet)
		}
		take(p.drafter.Edit(run, p.now, set("finding", finding), set("closed", doc{"at": at})))
	}
	for n := 0; n < len(list); n += 1000 {
		if r, err := p.store.Add(b.Context(), list[n:min(n+1000, len(list))]); err != nil || len(r.Refused) > 0 {
			b.Fatal(err, r.Refused)
		}
	}
	q := plant.LookbackQuestion{Range: ranges[0], Since: "2026-01-01", Reason: "found out"}
	q.After = json.RawMessage(`[{"applied":"0","error":"0","expanded":"0.003"},{"applied":"10","error":"0.05","expanded":"0.003"}]`)
	b.ResetTimer()
	for b.Loop() {
		id, err := p.desk.Open(b.Context(), reviewer, s.ID, q)
		if err != nil {
			b.Fatal(err)
		}
		view := p.wait(id)
		if view.Row.Found.Runs != visits || view.Row.Found.Faults != 0 || view.Row.Found.Suspect == 0 {
			b.Fatalf("%+v %+v", view.Row.Found, view.Instruments[0].Runs[0])
		}
	}
	b.ReportMetric(float64(visits)*float64(b.N)/b.Elapsed().Seconds(), "visits/s")
}
