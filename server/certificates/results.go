package certificates

import (
	"encoding/json"
	"strconv"

	"gaugewright/server/plant"
)

// results are the readings of a run with their digits.
type results struct {
	readings  []plant.Reading
	applied   []string
	indicated []string
	points    []*plant.Point // the point of each reading; nil where the finding has none
	decimals  int            // of what was indicated
	pressures int            // decimals of the applied pressures
}

// gather puts beside every reading what was typed for it, and the uncertainty of its point. All
// values of a column have the same number of decimals, so that they stand in line.
func gather(run *plant.Run, item *plant.Item) results {
	r := results{readings: run.Finding.Readings, decimals: places(item.Resolution)}
	signal := item.Range.Unit
	if item.Output != nil {
		signal = item.Output.Unit
	} else {
		r.pressures = r.decimals
	}
	typed := map[[2]string]plant.Decimal{}
	for _, c := range run.Effective() {
		switch {
		case c.Of == "applied" && c.Unit == item.Range.Unit:
			r.pressures = max(r.pressures, places(c.Value))
		case (c.Of == "indicated" || c.Of == "before_tap") && c.Unit == signal:
			r.decimals = max(r.decimals, places(c.Value))
		default: // judged in the instrument's unit, and so printed in it
			continue
		}
		typed[[2]string{c.Step, c.Of}] = c.Value
	}
	corrected := false
	for _, reading := range r.readings {
		corrected = corrected || reading.Typed.Applied != ""
		if reading.Typed.Applied == "" && reading.Applied != nil {
			r.pressures = max(r.pressures, min(6, shortest(*reading.Applied)))
		}
	}
	if item.Output == nil {
		r.pressures = max(r.pressures, r.decimals)
	}
	if corrected { // a correction moves the pressure between the digits that were typed
		r.pressures++
	}
	r.decimals, r.pressures = min(r.decimals, 9), min(r.pressures, 9)
	for _, reading := range r.readings {
		r.applied = append(r.applied, fixed(reading.Applied, r.pressures))
		r.indicated = append(r.indicated, fixed(reading.Indicated, r.decimals))
		var at *plant.Point
		for i := range run.Finding.Points {
			if samePoint(run.Finding.Points[i].Point, reading.Point) {
				at = &run.Finding.Points[i]
			}
		}
		r.points = append(r.points, at)
	}
	return r
}

// shortest counts the decimals of a number's shortest decimal text.
func shortest(x float64) int {
	return places(plant.Decimal(strconv.FormatFloat(x, 'f', -1, 64)))
}

// errorDecimals returns the decimals of a reading's error: those of its expanded uncertainty
// (ILAC-P14:09/2020 5.3), else one more than was read; more where that hides its side of the limit.
func (r *results) errorDecimals(i int) int {
	reading, decimals := &r.readings[i], r.decimals
	if u, _ := r.expanded(i); u != nil {
		decimals = decimalsOf(*u)
	} else if reading.Typed.Applied != "" {
		decimals++
	}
	if reading.Error == nil {
		return decimals
	}
	return sided(*reading.Error, decimals, reading.LimitLow, reading.LimitHigh)
}

// expanded returns the uncertainty of a reading at its point and its coverage factor; nil where
// there is none.
func (r *results) expanded(i int) (u, k *float64) {
	if p := r.points[i]; p != nil {
		u, k, _ = ofReading(p)
	}
	return u, k
}

// ofReading returns the uncertainty of a reading of one direction, its coverage factor and degrees
// of freedom: hysteresis belongs to the mean of both.
func ofReading(p *plant.Point) (u, k, dof *float64) {
	u, k, dof = p.Expanded, p.K, p.DOF
	if p.OfReading != nil {
		u, k, dof = p.OfReading, p.KReading, p.DOFReading
	}
	if u == nil || !(*u > 0) {
		return nil, nil, nil
	}
	return u, k, dof
}

// samePoint compares two points, each a number or a decimal text.
func samePoint(a, b json.RawMessage) bool {
	var x, y plant.Decimal
	if json.Unmarshal(a, &x) != nil || json.Unmarshal(b, &y) != nil {
		return string(a) == string(b)
	}
	p, err := strconv.ParseFloat(string(x), 64)
	q, err2 := strconv.ParseFloat(string(y), 64)
	return err == nil && err2 == nil && p == q
}

// column is one of a table: its heading, its width in millimetres and how its cells are aligned.
type column struct {
	head  string
	width float64
	align string
}

var pressureColumns = []column{{"direction", 20, "L"}, {"applied", 24, "R"}, {"indicated", 24, "R"}, {"error", 22, "R"}, {"limit", 23, "R"},
	{"U", 17, "R"}, {"k", 11, "R"}, {"verdict", 29, "L"}}

// signalColumns are those of a transmitter; %s is the unit of the pressure or of the signal.
func signalColumns(pressure, signal string) []column {
	return []column{{"direction", 15, "L"}, {"applied, " + pressure, 19, "R"}, {"ideal, " + signal, 16, "R"}, {"measured, " + signal, 21, "R"},
		{"error, " + signal, 17, "R"}, {"% of span", 16, "R"}, {"error, " + pressure, 17, "R"}, {"limit, " + signal, 17, "R"}, {"U, " + signal, 13, "R"}, {"verdict", 19, "L"}}
}

func (s *sheet) run(title string, run *plant.Run) {
	if len(run.Finding.Results) > 0 {
		s.figures(title, run)
		return
	}
	item := &s.in.Visit.Item
	r := gather(run, item)
	s.heading(title, 30)
	unit, signal, table := item.Range.Unit, item.Range.Unit, pressureColumns
	if o := item.Output; o != nil {
		signal, table = o.Unit, signalColumns(unit, o.Unit)
		s.paragraph("Applied pressures in " + unit + ", signals in " + signal + ". The ideal signal is what " + outputText(o) +
			" gives for the applied pressure. Error = measured − ideal.")
	} else {
		s.paragraph("All pressures in " + unit + ". Error = indicated − applied.")
	}
	if run.Stopped != "" {
		s.paragraph("The run ended early: " + run.Stopped)
	}
	s.tableHead(table)
	for i := range r.readings {
		if s.room(5) {
			s.tableHead(table)
		}
		s.row(table, s.cells(&r, i), "")
	}
	if len(r.readings) == 0 {
		s.paragraph("No reading was evaluated.")
		return
	}
	if e := run.Finding.Gauge.Signal; e != nil {
		s.pdf.SetY(s.pdf.GetY() + 1)
		s.paragraph("Error of zero " + signed(&e.Zero, r.decimals) + " " + signal + " (" + signed(&e.ZeroPercent, 3) + " % of span), of span " +
			signed(&e.Span, r.decimals) + " " + signal + " (" + signed(&e.SpanPercent, 3) + " %).")
	}
	s.pdf.SetY(s.pdf.GetY() + 2)
	s.chart(r, unit, signal)
	s.corrections(run, r, unit)
}

// cells returns the cells of one reading.
func (s *sheet) cells(r *results, i int) []string {
	reading := &r.readings[i]
	direction := map[string]string{"up": "rising", "down": "falling"}[reading.Direction]
	if reading.Series > 2 {
		direction += " " + strconv.Itoa((reading.Series+1)/2)
	}
	decimals := r.errorDecimals(i)
	limit := "none"
	if reading.LimitLow != nil && reading.LimitHigh != nil {
		limit = limits(*reading.LimitLow, *reading.LimitHigh, max(decimals, r.decimals+1))
	}
	u, k := r.expanded(i)
	o := s.in.Visit.Item.Output
	if o == nil {
		return []string{
			direction, r.applied[i], r.indicated[i], signed(reading.Error, decimals), limit, two(u),
			fixed(k, 2), reading.Verdict,
		}
	}
	ideal, share := "–", "–"
	inPressure := r.pressures + 2
	if span := o.Span(); u != nil && span > 0 { // as many decimals as the uncertainty has, turned into the pressure by the range
		inPressure = decimalsOf(*u / span * spanOf(s.in.Visit.Item.Range))
	}
	if reading.Indicated != nil && reading.Error != nil {
		x := *reading.Indicated - *reading.Error
		ideal = fixed(&x, max(decimals, r.decimals))
	}
	if span := o.Span(); reading.Error != nil && span > 0 {
		x, digits := *reading.Error/span*100, decimals
		if u != nil {
			digits = decimalsOf(*u / span * 100)
		}
		share = signed(&x, digits)
	}
	return []string{
		direction, r.applied[i], ideal, r.indicated[i], signed(reading.Error, decimals), share,
		signed(reading.ErrorPressure, inPressure), limit, two(u), reading.Verdict,
	}
}

func limits(low, high float64, decimals int) string {
	if low == -high {
		return "±" + fixed(&high, decimals)
	}
	return fixed(&low, decimals) + "/" + signed(&high, decimals)
}

func (s *sheet) tableHead(table []column) {
	s.pdf.SetY(s.pdf.GetY() + 1)
	heads := make([]string, len(table))
	for i, c := range table {
		heads[i] = c.head
	}
	s.row(table, heads, "B")
}

func (s *sheet) row(table []column, cells []string, border string) {
	style, size := "", body
	if border != "" {
		style = "B"
	}
	if len(table) > len(pressureColumns) {
		size = small
	}
	s.pdf.SetFont("go", style, size)
	s.pdf.SetX(s.left)
	for i, c := range table {
		gap := 0.0
		if c.head == "verdict" { // a gap between a figure and a word
			gap = 4
			s.pdf.CellFormat(gap, 5, "", border, 0, "L", false, 0, "")
		}
		s.pdf.CellFormat(c.width-gap, 5, cells[i], border, 0, c.align, false, 0, "")
	}
	s.pdf.Ln(5)
}
