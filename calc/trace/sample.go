package trace

import (
	"strconv"

	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for the calculation.
func Samples() []document.Sample {
	return []document.Sample{{Calculation: "trace", Make: sample}}
}

// form is one form in which sample writes a record.
type form struct {
	separator, decimal, end string
	time                    string
	contact                 bool
}

func sample(seed uint64) []byte {
	d := document.Draws(seed)
	f := form{
		separator: []string{",", ";", "\t"}[d.Below(3)], decimal: ".", end: []string{"\n", "\r\n"}[d.Below(2)],
		time: []string{"number", "index", "clock", "date", "epoch"}[d.Below(5)], contact: d.Below(2) == 0,
	}
	if f.separator != "," && d.Below(2) == 0 {
		f.decimal = ","
	}
	w := document.NewWriter(nil)
	w.Begin()
	switch d.Below(4) {
	case 0:
		w.Text("do", "look")
		w.Text("text", record(&d, f))
		w.Flag("last", true)
	case 1:
		w.Text("do", "thin")
		w.Whole("most", 10+d.Below(40))
		if !f.contact {
			w.Text("to", []string{"mean", "extremes"}[d.Below(2)])
		}
		thinSample(w, &d, f.contact)
	default:
		w.Text("do", "read")
		w.Text("text", record(&d, f))
		w.Flag("last", d.Below(4) > 0)
		reading(w, &d, f)
	}
	w.End()
	return w.Bytes()
}

func thinSample(w *document.Writer, d *document.Draws, contact bool) {
	n := 1 + d.Below(300)
	w.BeginObject("samples")
	w.BeginList("t_s")
	for i := range n {
		w.NumberItem(float64(i) / 10)
	}
	w.EndList()
	for _, name := range []string{"p", "temperature_c", "barometer_pa"} {
		w.BeginList(name)
		for range n {
			w.NumberItem(d.Between(1, 100))
		}
		w.EndList()
	}
	if contact {
		w.Text("contact", states(d, n))
	}
	w.End()
}

func states(d *document.Draws, n int) string {
	b := make([]byte, n)
	state := byte('0')
	for i := range b {
		if d.Below(20) == 0 {
			state ^= 1
		}
		b[i] = state
	}
	return string(b)
}

// record writes a few dozen rows with a heading. Now and then a cell is empty, wrong or too early.
func record(d *document.Draws, f form) string {
	b := []byte("\xef\xbb\xbf# made from a seed" + f.end)
	b = append(b, "Time"+f.separator+"Pressure"+f.separator+"Temperature"+f.separator+"Contact"+f.end...)
	b = append(b, "s"+f.separator+"bar"+f.separator+"degC"+f.separator+f.end...)
	const start = 86390
	for i := range 20 + d.Below(40) {
		if d.Below(25) > 0 {
			i++
		}
		b = append(b, when(f, start+i)...)
		cell := decimal(d.Between(0, 12), 3, f.decimal)
		switch d.Below(30) {
		case 0:
			cell = ""
		case 1:
			cell = "OVER"
		case 2:
			cell = `"` + cell + `"`
		}
		b = append(b, f.separator+cell+f.separator+decimal(d.Between(18, 24), 2, f.decimal)+f.separator...)
		b = append(b, []string{"open", "closed"}[d.Below(2)]...)
		b = append(b, f.end...)
	}
	return string(b)
}

func decimal(x float64, places int, point string) string {
	b := strconv.AppendFloat(nil, x, 'f', places, 64)
	for i := range b {
		if b[i] == '.' {
			b[i] = point[0]
		}
	}
	return string(b)
}

func when(f form, s int) string {
	two := func(n int) string { return strconv.Itoa(100 + n)[1:] }
	day, rest := s/86400, s%86400
	clock := two(rest/3600) + ":" + two(rest/60%60) + ":" + two(rest%60)
	switch f.time {
	case "number":
		return decimal(float64(s)/10, 3, f.decimal)
	case "clock":
		return clock
	case "date":
		return "2026-11-" + two(24+day) + "T" + clock + ".25Z"
	case "epoch":
		return strconv.Itoa(1_795_000_000 + s)
	}
	return strconv.Itoa(s)
}

func reading(w *document.Writer, d *document.Draws, f form) {
	w.BeginObject("reading")
	w.Text("separator", f.separator)
	w.Text("decimal", f.decimal)
	w.Text("comment", "#")
	w.Whole("first_line", 4)
	w.BeginObject("time")
	w.Text("form", f.time)
	if f.time != "index" || d.Below(2) == 0 {
		w.Whole("column", 1)
	}
	switch f.time {
	case "number", "epoch":
		w.Text("unit", "s")
	case "index":
		w.Number("interval_s", 0.5)
	case "date":
		w.Text("order", "ymd")
	}
	w.Flag("bridge", d.Below(2) == 0)
	w.End()
	w.BeginObject("p")
	w.Whole("column", 2)
	w.Text("unit", "bar")
	w.Text("mode", "gauge")
	w.End()
	if d.Below(2) == 0 {
		w.BeginObject("temperature")
		w.Whole("column", 3)
		w.Text("unit", "degC")
		w.End()
	}
	to := "extremes"
	if f.contact {
		w.BeginObject("contact")
		w.Whole("column", 4)
		w.BeginList("actuated")
		w.TextItem("Closed")
		w.EndList()
		w.BeginList("rest")
		w.TextItem("open")
		w.EndList()
		w.End()
	} else {
		to = []string{"mean", "extremes"}[d.Below(2)]
	}
	w.Text("unit", []string{"bar", "kPa", "Pa"}[d.Below(3)])
	w.Number("gap_s", 3)
	w.BeginObject("thin")
	w.Text("to", to)
	w.Whole("block", 1+d.Below(12))
	w.End()
	w.BeginObject("range")
	w.Text("low", "0")
	w.Text("high", []string{"3", "10"}[d.Below(2)])
	w.Text("unit", "bar")
	w.End()
	w.End()
}
