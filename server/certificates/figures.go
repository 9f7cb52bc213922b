package certificates

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc/numeric"
	"gaugewright/calc/rounding"
	"gaugewright/server/plant"
)

// The columns of the results of every kind of work except the gauge's. If each figure is an error,
// what was applied and indicated comes before it. An empty column is left out.
const (
	figureHead = iota
	appliedHead
	indicatedHead
	valueHead
	limitHead
	uHead
	kHead
	sourceHead
	judgedHead
)

var figureHeads = []string{"figure", "applied", "indicated", "value", "limit", "U", "k", "source", verdictHead}

const (
	figureRow = 5.0 // mm, of a line of a table of figures
	leastRows = 3   // kept together with the heads
	heading   = 9.5 // mm, of a heading with what is above it
)

// columnGap is the distance between two columns in mm. It shrinks to columnGapLeast if the names of
// the figures would have less than namesLeast.
const columnGap, columnGapLeast, namesLeast = 4.0, 2.5, 55.0

// figures lists the results of a run: each figure with its limit, the number of the note that gives
// the limit's source, and its verdict; the charts follow.
func (s *sheet) figures(title string, run *plant.Run) {
	own := systemsOf(run)
	facts, text := s.systemFacts(&own)
	if len(facts) == 0 {
		facts, text = s.airFacts(run)
	}
	if own.Leak != nil {
		text = joined(" ", text, s.undetected(&own))
	}
	above, charts := []string{text}, append(s.systemCharts(&own), s.airCharts(run)...)
	rows, sources := s.figureRows(run)
	if read := len(s.airPoints(run)); read > 0 {
		if unit := commonUnit(run); unit != "" {
			above = append(above, s.say("All values in {}.", unit))
			for _, row := range rows {
				for _, i := range []int{appliedHead, indicatedHead, valueHead} {
					row[i] = strings.TrimSuffix(row[i], " "+unit)
				}
			}
		}
	}
	var notes []string
	if len(sources) > 0 {
		notes = append(notes, s.say("Where the limits come from:"))
		for i, text := range sources {
			notes = append(notes, count(i+1)+"  "+s.sentence(text))
		}
	}
	t := s.tabled(rows, run.Finding.Results)

	chart := 0.0
	if len(charts) > 0 {
		chart = charts[0].height
	}
	start := s.breaks(&t, s.heightOf(notes), chart)
	front := s.heightOf(above)
	s.pdf.SetFont("go", "", body)
	for _, f := range facts {
		front += s.factHeight(f.Text)
	}
	if run.Stopped != "" {
		front += s.heightOf([]string{s.stopped(run)})
	}
	whole := heading + front + 1 + figureRow + t.height(0) + 1 + s.heightOf(notes)
	for _, c := range charts {
		whole += c.height
	}
	switch {
	case len(charts) > 0 && s.pdf.GetY()+whole > s.bottom && whole <= s.bottom-top:
		s.pdf.AddPage() // a table that fits on one page with its charts stays on one page
	case front+start > s.bottom-top-heading: // does not fit on one page
		front, start = 0, 30
	}
	s.heading(title, front+start)
	if run.Stopped != "" {
		s.paragraph(s.stopped(run))
	}
	for _, f := range facts {
		s.fact(f.Name, f.Text)
	}
	for _, text := range above {
		s.paragraph(text)
	}
	s.figureTable(&t, start)
	if len(notes) > 0 {
		s.pdf.SetY(s.pdf.GetY() + 1)
	}
	for _, text := range notes {
		s.paragraph(text)
	}
	for _, c := range charts {
		c.draw()
	}
}

// stopped says why a run ended early.
func (s *sheet) stopped(run *plant.Run) string {
	return s.say("The run ended early: {}", s.sentence(run.Stopped))
}

// figureRows returns the cells of each figure of a run, and the sources of the limits, whose numbers
// stand in the cells.
func (s *sheet) figureRows(run *plant.Run) (rows [][]string, sources []string) {
	read := s.airReadings(run)
	for i := range run.Finding.Results {
		f := &run.Finding.Results[i]
		row := make([]string, len(figureHeads))
		if f.Source != "" {
			at := slices.Index(sources, f.Source)
			if at < 0 {
				at = len(sources)
				sources = append(sources, f.Source)
			}
			row[sourceHead] = strconv.Itoa(at + 1)
		}
		row[figureHead] = strings.ReplaceAll(s.sentence(f.Name), " -", " −")
		row[valueHead], row[limitHead] = s.number(s.valueText(f)), s.bounds(f.LimitLow, f.LimitHigh)
		if f.Condition != "" {
			row[valueHead], row[limitHead] = s.sentence(f.Condition), ""
		}
		if f.Expanded != nil && *f.Expanded > 0 {
			row[uHead], row[kHead] = s.number(small2(f.Expanded)), s.number(factorText(f.K))
		}
		if i < len(read) {
			row[appliedHead], row[indicatedHead] = read[i].applied, read[i].indicated
		}
		row[judgedHead] = s.verdict(f.Verdict)
		rows = append(rows, row)
	}
	return rows, sources
}

// commonUnit is the unit that all figures of a test with readings share, which is then printed above
// the table. It is "" if they share none.
func commonUnit(run *plant.Run) string {
	unit := run.Finding.Results[0].Unit
	for _, f := range run.Finding.Results {
		if f.Unit != unit {
			return ""
		}
	}
	return unit
}

// namesReason reports whether the figure's name already gives the reason.
func namesReason(f *plant.Figure) bool { return strings.Contains(f.Name, f.Reason) }

// filled returns the columns that are not empty in every row. A figure without an uncertainty,
// among others that have one, gets a mark.
func filled(rows [][]string) (columns []int) {
	for i := range figureHeads {
		if i == figureHead || slices.ContainsFunc(rows, func(row []string) bool { return row[i] != "" }) {
			columns = append(columns, i)
		}
	}
	for _, row := range rows {
		if slices.Contains(columns, uHead) && row[uHead] == "" {
			row[uHead] = "–"
		}
	}
	return columns
}

// figureTable is a table of figures as it is printed.
type figureTable struct {
	rows          [][]string
	results       []plant.Figure
	heads         []string
	widths, tails []float64 // of the columns, 0 for one that is not there; from the decimal mark on
	heights       []float64 // of the rows
	last          int       // the row from which on no page ends, with so many mm of what is below
	below         float64
}

// height returns the height of the rows from one on.
func (t *figureTable) height(from int) (sum float64) {
	for _, h := range t.heights[max(0, from):] {
		sum += h
	}
	return sum
}

// tabled makes a table, each column as wide as its longest cell needs. The names of the figures take
// the rest and wrap into lines.
func (s *sheet) tabled(rows [][]string, results []plant.Figure) figureTable {
	columns := filled(rows)
	t := figureTable{rows: rows, results: results, heads: make([]string, len(figureHeads))}
	t.widths, t.tails = make([]float64, len(figureHeads)), make([]float64, len(figureHeads))
	rest := textWidth
	for _, i := range columns {
		s.pdf.SetFont("go", "B", body)
		t.heads[i] = s.word(figureHeads[i])
		if i == valueHead && slices.Contains(columns, indicatedHead) {
			t.heads[i] = s.word("error")
		}
		if i == figureHead {
			continue
		}
		least, wide := s.pdf.GetStringWidth(t.heads[i]), 0.0
		s.pdf.SetFont("go", "", body)
		wide, t.tails[i] = s.inLine(columnOf(rows, i))
		t.widths[i] = max(least, wide) + columnGap
		rest -= t.widths[i]
	}
	for _, i := range columns[1:] { // narrower gaps if the names would have little room
		if rest < namesLeast {
			t.widths[i] -= columnGap - columnGapLeast
			rest += columnGap - columnGapLeast
		}
	}
	t.widths[figureHead] = rest
	s.pdf.SetFont("go", "", body)
	for i := range rows {
		h := figureRow * float64(len(s.lines(rows[i][figureHead], rest-1)))
		if !namesReason(&results[i]) {
			h += s.heightOf([]string{s.because(&results[i])})
		}
		t.heights = append(t.heights, h)
	}
	return t
}

// because gives the reason of a figure's verdict.
func (s *sheet) because(f *plant.Figure) string {
	return s.sentence(f.Name) + ": " + s.sentence(f.Reason)
}

// breaks decides where a table may be broken, and returns what it needs in mm to begin. At least three
// rows stay with the heads; the last rows stay with the notes on the sources of their limits and with
// the chart, of which the heights are given.
func (s *sheet) breaks(t *figureTable, notes, chart float64) (start float64) {
	n := len(t.rows)
	t.last, t.below = max(0, n-leastRows), 1+notes+chart
	if chart == 0 || figureRow+t.height(t.last)+t.below > s.bottom-top {
		t.last, t.below = max(0, n-2), 1+min(notes, 8*lineHeight)
	}
	if whole := 1 + figureRow + t.height(0) + t.below; t.last < leastRows && whole <= s.bottom-top {
		return whole // too short to be broken
	}
	return 1 + figureRow*float64(1+min(leastRows, n))
}

// figureTable writes a table that needs so much to begin.
func (s *sheet) figureTable(t *figureTable, start float64) {
	head := func() {
		s.pdf.SetY(s.pdf.GetY() + 1)
		s.figureRow(t.widths, t.tails, t.heads, "B")
	}
	s.room(start)
	head()
	for i := range t.rows {
		needs := t.heights[i]
		if i == t.last {
			needs = t.height(i) + t.below
		}
		if s.room(needs) {
			head()
		}
		s.figureRow(t.widths, t.tails, t.rows[i], "")
		if !namesReason(&t.results[i]) {
			s.paragraph(s.because(&t.results[i]))
		}
	}
}

func (s *sheet) figureRow(widths, tails []float64, cells []string, border string) {
	style := ""
	if border != "" {
		style = "B"
	}
	s.pdf.SetFont("go", style, body)
	y := s.pdf.GetY()
	lines := s.lines(cells[0], widths[0]-1)
	for i, line := range lines {
		s.pdf.SetXY(s.left, y+5*float64(i))
		s.cell(widths[0], 5, line, border, 0, "L")
	}
	x := s.left + widths[0]
	for i, c := range cells[1:] {
		if widths[i+1] == 0 {
			continue
		}
		s.pdf.SetXY(x, y)
		s.cell(widths[i+1], 5, "", border, 0, "R")
		x += widths[i+1]
		s.put(x, y, 5, tails[i+1], c)
	}
	s.pdf.SetXY(s.left, y+5*float64(max(1, len(lines))))
}

// power precedes the exponent of a power of ten in a text: "1.2 × 10^-5 mol/s".
const power = "10^"

// superscripts are the raised digits of the calculation's sentences: the typeface has few of them.
const superscripts = "⁰¹²³⁴⁵⁶⁷⁸⁹"

// marked rewrites the powers of ten in a text for powers: 10⁻⁵ becomes 10^−5.
func marked(text string) string {
	const ten = "10"
	var b strings.Builder
	raising := false
	for i, c := range text {
		digit := strings.IndexRune(superscripts, c)
		if c != '⁻' && digit < 0 || !raising && !strings.HasSuffix(text[:i], ten) {
			raising = false
			b.WriteRune(c)
			continue
		}
		if !raising {
			b.WriteByte('^')
		}
		raising = true
		if digit < 0 {
			b.WriteString("−")
			continue
		}
		b.WriteByte('0' + byte(slices.Index([]rune(superscripts), c)))
	}
	return b.String()
}

// split cuts a text at the exponents of its powers of ten; every second part is an exponent.
func split(text string) (parts []string) {
	text = shown(text)
	for {
		before, after, ok := strings.Cut(text, power)
		if !ok {
			return append(parts, text)
		}
		end := strings.IndexFunc(after, func(r rune) bool { return r != '−' && (r < '0' || r > '9') })
		if end < 0 {
			end = len(after)
		}
		parts, text = append(parts, before+"10", after[:end]), after[end:]
	}
}

// width returns the width of a text as powers writes it.
func (s *sheet) width(text string) (w float64) {
	size, _ := s.pdf.GetFontSize()
	for i, part := range split(text) {
		if i%2 == 1 {
			s.pdf.SetFontSize(size * 0.7)
		}
		w += s.pdf.GetStringWidth(part)
		s.pdf.SetFontSize(size)
	}
	return w
}

// powers writes a text with the exponents of its powers of ten raised.
func (s *sheet) powers(x, y, height float64, text string) {
	size, _ := s.pdf.GetFontSize()
	for i, part := range split(text) {
		raised := 0.0
		if i%2 == 1 {
			s.pdf.SetFontSize(size * 0.7)
			raised = 1.1
		}
		w := s.pdf.GetStringWidth(part)
		s.pdf.SetXY(x, y-raised)
		margin := s.pdf.GetCellMargin()
		s.pdf.SetCellMargin(0)
		s.cell(w, height, part, "", 0, "L")
		s.pdf.SetCellMargin(margin)
		s.pdf.SetFontSize(size)
		x += w
	}
}

// rounded rounds a result as the phone does; a result in the item's unit gets no more decimals than
// the item can be read to. It also returns how many decimals to write if an uncertainty gives them.
func (s *sheet) rounded(f *plant.Figure) (x float64, decimals int, given bool) {
	item := &s.in.Visit.Item
	one := rounding.Figure{Value: *f.Value, Expanded: f.Expanded, Low: f.LimitLow, High: f.LimitHigh, Places: -1}
	if f.Unit == item.Range.Unit {
		if high, err := strconv.ParseFloat(string(item.Range.High), 64); err == nil {
			one.Size = math.Abs(high)
		}
		if item.Resolution != "" {
			one.Places = places(item.Resolution)
		}
	}
	return rounding.Round(&one)
}

// valueText writes the value of a result with its unit.
func (s *sheet) valueText(f *plant.Figure) string {
	if f.Value == nil {
		return joined(" ", "–", f.Unit)
	}
	x, decimals, given := s.rounded(f)
	text := figure(&x)
	switch least := places(s.in.Visit.Item.Resolution); {
	case given && (x == 0 || math.Abs(x) >= tiny):
		text = fixed(&x, decimals)
	case f.Unit == s.in.Visit.Item.Range.Unit && shortest(x) < least:
		text = fixed(&x, least) // as many decimals as were read: 0.50 bar, not 0.5 bar
	}
	return joined(" ", text, f.Unit)
}

// figure writes a calculated number with at most six digits; a very small or large one with a power
// of ten.
func figure(x *float64) string {
	if x == nil {
		return "–"
	}
	r := numeric.RoundSignificant(*x, 6)
	if a := math.Abs(r); a != 0 && (a < 1e-4 || a >= 1e9) {
		mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(numeric.RoundSignificant(r, 4), 'e', -1, 64), "e")
		n, err := strconv.Atoi(exponent)
		if err != nil { // FormatFloat writes an integer exponent
			return minusText(strconv.FormatFloat(r, 'g', -1, 64))
		}
		return minusText(mantissa + " × " + power + strconv.Itoa(n))
	}
	return minusText(strconv.FormatFloat(r, 'f', -1, 64))
}

func (t tongue) bounds(low, high *float64) string {
	switch {
	case low == nil && high == nil:
		return t.say("none")
	case low == nil:
		return "≤ " + t.number(figure(high))
	case high == nil:
		return "≥ " + t.number(figure(low))
	case *low == -*high:
		return "±" + t.number(figure(high))
	}
	decimals := max(shortest(numeric.RoundSignificant(*low, 6)), shortest(numeric.RoundSignificant(*high, 6)))
	if *low != 0 && math.Abs(*low) < tiny || *high != 0 && math.Abs(*high) < tiny || decimals > 9 {
		return t.number(figure(low) + " … " + figure(high))
	}
	return t.number(fixed(low, decimals) + " … " + fixed(high, decimals)) // both ends with the same decimals
}

// itsRules lists the rules by which a programme's runs were judged, each once: the limits of a
// value, or a condition.
func (in *Input) itsRules() string {
	t := in.tongue()
	var list []string
	for _, p := range in.parts() {
		run := p.run
		for i := range run.Finding.Results {
			f := &run.Finding.Results[i]
			text := ""
			switch {
			case f.Condition != "":
				text = f.Name + ": " + t.sentence(f.Source)
			case f.LimitLow != nil || f.LimitHigh != nil:
				text = joined(" ", f.Name+":", t.bounds(f.LimitLow, f.LimitHigh), f.Unit)
			default: // read without a rule
				continue
			}
			if !slices.Contains(list, text) {
				list = append(list, text)
			}
		}
	}
	return fallback(strings.Join(list, "; "), t.say("no rule of the programme judged what was read"))
}

// itemText describes an item, and adds what it is if the description does not say it.
func (t tongue) itemText(item *plant.Item) string {
	kind := t.word(kindText(item))
	if strings.Contains(strings.ToLower(item.Description), strings.ToLower(kind)) {
		return item.Description
	}
	return joined(", ", item.Description, kind)
}

// kindText says in English what an item is.
func kindText(item *plant.Item) string {
	switch {
	case item.Output != nil:
		return "pressure transmitter"
	case item.Kind == "" || item.Kind == "gauge":
		return "pressure gauge"
	}
	return kindNames[item.Kind]
}

// kindNames are the kinds of instrument in words.
var kindNames = map[string]string{
	"transmitter": "pressure transmitter", "switch": "pressure switch", "burst": "rupture discs",
	"leak": "closed system", "altimeter": "altimeter", "airspeed": "airspeed indicator",
	"vertical-speed": "vertical speed indicator", "reporting-altitude": "altitude reporting system",
	"pitot-static-leak": "pitot-static system", "programme": "",
}

// noiseless returns a difference of two numbers, or 0 if it is only binary rounding noise at their
// size.
func noiseless(difference, of *float64) *float64 {
	if difference != nil && of != nil && math.Abs(*difference) < math.Abs(*of)*1e-9 {
		return new(float64)
	}
	return difference
}
