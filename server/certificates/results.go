package certificates

import (
	"encoding/json"
	"slices"
	"strconv"

	"gaugewright/server/plant"
)

// results are the readings of a run with their digits.
type results struct {
	readings  []plant.Reading
	applied   []string
	indicated []string
	points    []*plant.Point // the point of each reading; nil if the finding has none
	decimals  int            // of what was indicated
	pressures int            // decimals of the applied pressures
}

// gather puts what was typed and the uncertainty of its point beside every reading. All values of a
// column have the same number of decimals, so that they are aligned.
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
	if corrected { // a correction moves the pressure between the typed digits
		r.pressures++
	}
	r.decimals, r.pressures = min(r.decimals, 9), min(r.pressures, 9)
	for _, reading := range r.readings {
		var at *plant.Point
		for i := range run.Finding.Points {
			if samePoint(run.Finding.Points[i].Point, reading.Point) {
				at = &run.Finding.Points[i]
			}
		}
		r.points = append(r.points, at)
	}
	r.toUncertainty(corrected, item.Output != nil)
	for _, reading := range r.readings {
		r.applied = append(r.applied, fixed(reading.Applied, r.pressures))
		r.indicated = append(r.indicated, fixed(reading.Indicated, r.decimals))
	}
	return r
}

// toUncertainty gives corrected values the decimals of the errors, so that a reader gets the same
// difference: applied pressures that were corrected, and signals whose meter's errors were.
func (r *results) toUncertainty(corrected, signal bool) {
	errors, indicated := 0, 0
	for i := range r.readings {
		if r.readings[i].Error == nil {
			continue
		}
		errors = max(errors, min(9, r.errorDecimals(i)))
		if x := r.readings[i].Indicated; x != nil {
			indicated = max(indicated, shortest(*x))
		}
	}
	if corrected && !signal {
		r.pressures = max(r.pressures, errors)
	}
	if signal && indicated > r.decimals {
		r.decimals = max(r.decimals, errors)
	}
}

// shortest counts the decimals of a number's shortest decimal text.
func shortest(x float64) int {
	return places(plant.Decimal(strconv.FormatFloat(x, 'f', -1, 64)))
}

// errorDecimals returns the decimals of a reading's error: those of its expanded uncertainty
// (ILAC-P14:09/2020 5.3), else one more than was read; more if that hides its side of the limit.
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

// expanded returns the uncertainty of a reading at its point and its coverage factor; nil if there
// is none.
func (r *results) expanded(i int) (u, k *float64) {
	if p := r.points[i]; p != nil {
		u, k, _ = ofReading(p)
	}
	return u, k
}

// ofReading returns the uncertainty of a reading in one direction, its coverage factor and degrees
// of freedom. Hysteresis belongs to the mean of both directions.
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

// column is a column of a table: its heading and its width in millimetres. It has words at the left,
// or figures with their decimal marks in line; fitted sets the tail, their width from there on.
type column struct {
	head    string
	width   float64
	figures bool
	tail    float64
}

func wordsIn(head string, width float64) column { return column{head: head, width: width} }

func figuresIn(head string, width float64) column {
	return column{head: head, width: width, figures: true}
}

var pressureColumns = []column{
	wordsIn("direction", 20), figuresIn("applied", 24), figuresIn("indicated", 24), figuresIn("error", 22), figuresIn("limit", 23),
	figuresIn("U", 17), figuresIn("k", 11), wordsIn(verdictHead, 29),
}

// verdictHead is the heading of the column that is set apart from the figures before it.
const verdictHead = "verdict"

// columns are the columns for a gauge, with their heads in the certificate's language, or for a
// transmitter, with the units of pressure and signal.
func (t tongue) columns(o *plant.Signal, pressure string) []column {
	if o == nil {
		list := slices.Clone(pressureColumns)
		for i := range list {
			if list[i].head != verdictHead {
				list[i].head = t.word(list[i].head)
			}
		}
		return list
	}
	fault := func(unit string) string { return t.say("error, {}", unit) }
	return []column{
		wordsIn(t.say("direction"), 15), figuresIn(t.say("applied, {}", pressure), 19), figuresIn(t.say("ideal, {}", o.Unit), 16),
		figuresIn(t.say("measured, {}", o.Unit), 21), figuresIn(fault(o.Unit), 17), figuresIn(t.say("% of span"), 16),
		figuresIn(fault(pressure), 17), figuresIn(t.say("limit, {}", o.Unit), 17), figuresIn(t.say("U, {}", o.Unit), 13),
		wordsIn(verdictHead, 19),
	}
}

func (s *sheet) run(title string, run *plant.Run) {
	if len(run.Finding.Results) > 0 {
		s.figures(title, run)
		return
	}
	item := &s.in.Visit.Item
	r := gather(run, item)
	const row, above = 5.0, 27.0 // mm, of a line of the table, and of the heading with the words above it
	drawn := 0.0
	if s.charted(&r) {
		drawn = chartHeight + 6
	}
	if n := row*float64(len(r.readings)+2) + above; s.pdf.GetY()+n+drawn > s.bottom && n+drawn < s.bottom-top {
		s.pdf.AddPage() // a table that fits on one page with its heading and chart stays on one page
	}
	s.heading(title, 30)
	unit, signal, table := item.Range.Unit, item.Range.Unit, s.columns(item.Output, item.Range.Unit)
	if o := item.Output; o != nil {
		signal = o.Unit
		s.paragraph(s.say("Applied pressures in {}, signals in {}. The ideal signal is what {} "+
			"gives for the applied pressure. Error = measured − ideal.", unit, signal, s.outputText(o)))
	} else {
		s.paragraph(s.say("All pressures in {}. Error = indicated − applied.", unit))
	}
	if run.Stopped != "" {
		s.paragraph(s.say("The run ended early: {}", s.sentence(run.Stopped)))
	}
	cells := make([][]string, len(r.readings))
	for i := range r.readings {
		cells[i] = s.cells(&r, i)
	}
	table, size := s.fitted(table, cells)
	s.tableHead(table, size)
	for i := range r.readings {
		last := len(r.readings) - i // the last rows of a longer table stay with their chart
		if s.room(row) || last == min(4, len(r.readings)) && i > 0 && s.room(row*float64(last)+drawn) {
			s.tableHead(table, size)
		}
		s.row(table, size, cells[i], "")
	}
	if len(r.readings) == 0 {
		s.paragraph(s.say("No reading was evaluated."))
		return
	}
	if e := run.Finding.Gauge.Signal; e != nil {
		s.pdf.SetY(s.pdf.GetY() + 1)
		decimals := r.decimals
		for i := range r.readings {
			decimals = max(decimals, min(9, r.errorDecimals(i)))
		}
		s.paragraph(s.say("Error of zero {} {} ({} % of span), of span {} {} ({} %).",
			s.number(signed(&e.Zero, decimals)), signal, s.number(signed(&e.ZeroPercent, 3)),
			s.number(signed(&e.Span, decimals)), signal, s.number(signed(&e.SpanPercent, 3))))
	}
	s.pdf.SetY(s.pdf.GetY() + 2)
	s.chart(r, s.say("applied pressure, {}", unit), s.say("error, {}", signal))
	s.corrections(run, r, unit)
}

// cells returns the cells of one reading.
func (s *sheet) cells(r *results, i int) []string {
	reading := &r.readings[i]
	direction := map[string]string{"up": s.say("rising"), "down": s.say("falling")}[reading.Direction]
	if reading.Series > 2 {
		direction += " " + strconv.Itoa((reading.Series+1)/2)
	}
	decimals := r.errorDecimals(i)
	limit := s.say("none")
	if reading.LimitLow != nil && reading.LimitHigh != nil {
		limit = s.number(limits(*reading.LimitLow, *reading.LimitHigh, max(decimals, r.decimals+1)))
	}
	u, k := r.expanded(i)
	o := s.in.Visit.Item.Output
	if o == nil {
		return []string{
			direction, s.number(r.applied[i]), s.number(r.indicated[i]), s.number(signed(reading.Error, decimals)),
			limit, s.number(two(u)), s.number(fixed(k, 2)), s.verdict(reading.Verdict),
		}
	}
	ideal, share := "–", "–"
	inPressure := r.pressures + 2
	if span := o.Span(); u != nil && span > 0 { // the decimals of the uncertainty, converted to pressure by the range
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
		direction, s.number(r.applied[i]), s.number(ideal), s.number(r.indicated[i]),
		s.number(signed(reading.Error, decimals)), s.number(share), s.number(signed(reading.ErrorPressure, inPressure)),
		limit, s.number(two(u)), s.verdict(reading.Verdict),
	}
}

func limits(low, high float64, decimals int) string {
	if low == -high {
		return "±" + fixed(&high, decimals)
	}
	return fixed(&low, decimals) + "/" + signed(&high, decimals)
}

// verdictGap separates a column of figures from the words beside it, in mm.
const verdictGap = 4.0

// fitted returns the columns of a table as they are or, if there is no room for all of them, as
// wide as their cells need, in a smaller font.
func (s *sheet) fitted(table []column, rows [][]string) ([]column, float64) {
	size := body
	if len(table) > len(pressureColumns) {
		size = small
	}
	tails := make([]float64, len(table))
	need := func(size float64) (list []float64, sum float64, fits bool) {
		fits = true
		for i, c := range table {
			s.pdf.SetFont("go", "B", size)
			widest := s.pdf.GetStringWidth(shown(s.word(c.head)))
			s.pdf.SetFont("go", "", size)
			wide, tail := s.inLine(columnOf(rows, i))
			tails[i], widest = tail, max(widest, wide)
			widest += 2 * s.pdf.GetCellMargin()
			if c.head == verdictHead {
				widest += verdictGap
			}
			fits = fits && widest <= c.width
			list, sum = append(list, widest), sum+widest
		}
		return list, sum, fits
	}
	list, sum, fits := need(size)
	fit := slices.Clone(table)
	for i := range fit {
		fit[i].tail = tails[i]
	}
	if fits {
		return fit, size
	}
	for ; sum > textWidth && size > 4; list, sum, _ = need(size) {
		size -= 0.25
	}
	for i := range fit {
		fit[i].width, fit[i].tail = list[i]+(textWidth-sum)/float64(len(fit)), tails[i]
	}
	return fit, size
}

func (s *sheet) tableHead(table []column, size float64) {
	s.pdf.SetY(s.pdf.GetY() + 1)
	heads := make([]string, len(table))
	for i, c := range table {
		heads[i] = s.word(c.head)
	}
	s.row(table, size, heads, "B")
}

func (s *sheet) row(table []column, size float64, cells []string, border string) {
	style := ""
	if border != "" {
		style = "B"
	}
	s.pdf.SetFont("go", style, size)
	x, y, margin := s.left, s.pdf.GetY(), s.pdf.GetCellMargin()
	for i, c := range table {
		s.pdf.SetXY(x, y)
		gap := 0.0
		if c.head == verdictHead {
			gap = verdictGap
			s.cell(gap, 5, "", border, 0, "L")
		}
		x += c.width
		if c.figures {
			s.cell(c.width, 5, "", border, 0, "R")
			s.put(x-margin, y, 5, c.tail, cells[i])
			continue
		}
		s.cell(c.width-gap, 5, cells[i], border, 0, "L")
	}
	s.pdf.SetXY(s.left, y+5)
}
