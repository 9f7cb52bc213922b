package entry

import (
	"gaugewright/calc/document"
	"gaugewright/calc/work"
)

// Samples makes documents of the calculation entry.
func Samples() []document.Sample {
	return []document.Sample{{Calculation: "entry", Make: sample}}
}

// sample is a value of a gauge's run, a leak test or a burst test.
func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	put := func(step, of, value, unit string) {
		w.Text("step", step)
		w.Text("of", of)
		w.Text("value", value)
		w.Text("unit", unit)
	}
	begin := func(method, instrument string) {
		w.Begin()
		w.Raw("method", []byte(method))
		w.Raw("instrument", []byte(instrument))
		if d.Below(2) == 0 {
			w.Number("height_m", d.Between(-100, 5000))
		}
		w.BeginList("captures")
	}
	switch d.Below(3) {
	case 0:
		mode := []string{"gauge", "absolute"}[seed%2]
		begin(
			`{"kind":"gauge","points":{"values":["0","5","10"]},"directions":"up"}`,
			`{"low":"0","high":"10","unit":"bar","mode":"`+mode+`"}`,
		)
		w.Begin()
		put("s1.up.1", "indicated", work.Shortly(d.Between(0, 10)), "bar")
		w.End()
		w.EndList()
		w.BeginObject("entry")
		put("s1.up.2", "indicated", work.Shortly(d.Between(0, 12)), "bar")
		w.End()
		if mode == "absolute" {
			w.Whole("air_hpa", 1000)
		}
		w.End()
		return w.Bytes()
	case 1:
		begin(
			`{"kind":"leak","phases":[{"name":"pressure","pressure":"400","measure_s":120,"every_s":10}]}`,
			`{"low":"-100","high":"700","unit":"kPa","mode":"gauge"}`,
		)
		w.EndList()
		w.BeginObject("entry")
		if d.Below(2) == 0 {
			put("p1.b0", "answer", work.Shortly(d.Between(20, 1200)), "hPa")
		} else {
			put("p1", "trace", work.Shortly(d.Between(-100, 700)), "kPa")
		}
	default:
		begin(
			`{"kind":"burst","discs":2,"rate":"0.02"}`,
			`{"low":"0","high":"4","unit":"bar","mode":"gauge","particulars":{"marked":"1"}}`,
		)
		w.Begin()
		put("d1.disc", "answer", "A-1", "")
		w.End()
		w.EndList()
		w.BeginObject("entry")
		put("d2.disc", "answer", []string{"A-1", "A-2"}[d.Below(2)], "")
	}
	w.End()
	w.End()
	return w.Bytes()
}
