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

// figureHeads are the columns of the results of every kind of work but the gauge's.
var figureHeads = []string{"figure", "value", "limit", "U", "k", "source", "verdict"}

// columnGap is the least distance between two columns, in mm.
const columnGap = 4.0

// figures lists the results of a run: each figure with its limit, the number of the line below that
// says where the limit comes from, and its verdict.
func (s *sheet) figures(title string, run *plant.Run) {
	s.heading(title, 30)
	if run.Stopped != "" {
		s.paragraph(s.say("The run ended early: {}", s.sentence(run.Stopped)))
	}
	s.airFacts(run)
	own := systemsOf(run)
	s.systemFacts(&own)
	var sources []string
	var rows [][]string
	for i := range run.Finding.Results {
		f := &run.Finding.Results[i]
		number := ""
		if f.Source != "" {
			at := slices.Index(sources, f.Source)
			if at < 0 {
				at = len(sources)
				sources = append(sources, f.Source)
			}
			number = strconv.Itoa(at + 1)
		}
		value, limit, k := s.number(s.valueText(f)), s.bounds(f.LimitLow, f.LimitHigh), ""
		if f.Expanded != nil && *f.Expanded > 0 {
			k = s.number(factorText(f.K))
		}
		if f.Condition != "" {
			value, limit = f.Condition, ""
		}
		rows = append(
			rows,
			[]string{
				strings.ReplaceAll(s.sentence(f.Name), " -", " −"), value, limit, s.number(small2(f.Expanded)), k, number,
				s.word(f.Verdict),
			},
		)
	}
	s.figureTable(rows, run.Finding.Results)
	if len(sources) > 0 {
		s.pdf.SetY(s.pdf.GetY() + 1)
		s.paragraph(s.say("Where the limits come from:"))
		for i, text := range sources {
			s.paragraph(count(i+1) + "  " + s.sentence(text))
		}
	}
	s.systemCharts(&own)
	if n := run.Finding.DueMonths; n > 0 {
		s.paragraph(s.say("Next after {} calendar months, unless the regulation that holds for the item says otherwise.", count(n)))
	}
}

// figureTable writes the rows, each column as wide as its longest cell needs; the names of the
// figures take what is left and break into lines.
func (s *sheet) figureTable(rows [][]string, results []plant.Figure) {
	widths := make([]float64, len(figureHeads))
	tails := make([]float64, len(figureHeads)) // of a column whose decimal points are in line
	s.pdf.SetFont("go", "B", body)
	heads := make([]string, len(figureHeads))
	for i, head := range figureHeads {
		heads[i] = s.word(head)
		widths[i] = s.pdf.GetStringWidth(heads[i])
	}
	s.pdf.SetFont("go", "", body)
	rest := textWidth
	for i := 1; i < len(widths); i++ {
		widest := 0.0
		for _, row := range rows {
			head, tail := s.width(row[i]), 0.0
			if inLine(i) {
				head, tail = s.atPoint(row[i])
			}
			widest, tails[i] = max(widest, head), max(tails[i], tail)
		}
		widths[i] = max(widths[i], widest+tails[i])
		widths[i] += columnGap
		rest -= widths[i]
	}
	widths[0] = rest
	head := func() {
		s.pdf.SetY(s.pdf.GetY() + 1)
		s.figureRow(widths, nil, heads, "B")
	}
	head()
	for i, row := range rows {
		s.pdf.SetFont("go", "", body)
		if s.room(5 * float64(len(s.lines(row[0], rest-1)))) {
			head()
		}
		s.figureRow(widths, tails, row, "")
		if results[i].Reason != "" {
			s.paragraph(s.sentence(results[i].Name) + ": " + s.sentence(results[i].Reason))
		}
	}
}

// inLine says whether the decimal points of a column are in line: of values and of U.
func inLine(column int) bool { return figureHeads[column] == "value" || figureHeads[column] == "U" }

// atPoint returns how wide a text is before its decimal point, and from there on; one that is no
// number has all before it.
func (s *sheet) atPoint(text string) (head, tail float64) {
	number := strings.TrimLeft(text, "+−")
	end := strings.IndexFunc(number, func(r rune) bool { return r < '0' || r > '9' })
	if !isNumber(text) {
		return s.width(text), 0
	}
	if end < 0 {
		end = len(number)
	}
	head = s.width(text[:len(text)-len(number)+end])
	return head, s.width(text) - head
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
		s.pdf.SetXY(x, y)
		s.cell(widths[i+1], 5, "", border, 0, "R")
		at := x + widths[i+1] - s.width(c)
		if tails != nil && inLine(i+1) && isNumber(c) {
			head, _ := s.atPoint(c)
			at = x + widths[i+1] - tails[i+1] - head
		}
		s.powers(at, y, 5, c)
		x += widths[i+1]
	}
	s.pdf.SetXY(s.left, y+5*float64(max(1, len(lines))))
}

// isNumber says whether a text begins with a digit, behind its sign.
func isNumber(text string) bool {
	text = strings.TrimLeft(text, "+−")
	return text != "" && text[0] >= '0' && text[0] <= '9'
}

// power marks the exponent of a power of ten in a text: "1.2 × 10^-5 mol/s".
const power = "10^"

// superscripts are the raised digits of the calculation's sentences: the typeface has few of them.
const superscripts = "⁰¹²³⁴⁵⁶⁷⁸⁹"

// marked writes the powers of ten of a text as powers does: 10⁻⁵ becomes 10^−5.
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

// width returns how wide powers writes a text.
func (s *sheet) width(text string) (w float64) {
	for i, part := range split(text) {
		if i%2 == 1 {
			s.pdf.SetFontSize(body * 0.7)
		}
		w += s.pdf.GetStringWidth(part)
		s.pdf.SetFontSize(body)
	}
	return w
}

// powers writes a text with the exponents of its powers of ten raised.
func (s *sheet) powers(x, y, height float64, text string) {
	for i, part := range split(text) {
		raised := 0.0
		if i%2 == 1 {
			s.pdf.SetFontSize(body * 0.7)
			raised = 1.1
		}
		w := s.pdf.GetStringWidth(part)
		s.pdf.SetXY(x, y-raised)
		margin := s.pdf.GetCellMargin()
		s.pdf.SetCellMargin(0)
		s.cell(w, height, part, "", 0, "L")
		s.pdf.SetCellMargin(margin)
		s.pdf.SetFontSize(body)
		x += w
	}
}

// rounded rounds a result as the phone does; what is in the item's unit is no finer than the item
// can be read. It returns the decimals to write too, where an uncertainty gives them.
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
	if given && (x == 0 || math.Abs(x) >= tiny) {
		text = fixed(&x, decimals)
	}
	return joined(" ", text, f.Unit)
}

// figure writes a calculated number with six figures at most; a very small or large one with a
// power of ten.
func figure(x *float64) string {
	if x == nil {
		return "–"
	}
	r := numeric.RoundSignificant(*x, 6)
	if a := math.Abs(r); a != 0 && (a < 1e-4 || a >= 1e9) {
		mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(numeric.RoundSignificant(r, 4), 'e', -1, 64), "e")
		n, err := strconv.Atoi(exponent)
		if err != nil { // FormatFloat writes a whole exponent
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
	return t.number(fixed(low, decimals) + " … " + fixed(high, decimals)) // in line, one as exact as the other
}

// itsRules lists what a programme's runs were judged against, each rule once: the limits of a
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

// itemText describes an item, and names what it is where its description does not.
func (t tongue) itemText(item *plant.Item) string {
	kind := t.word(kindText(item))
	if strings.Contains(strings.ToLower(item.Description), strings.ToLower(kind)) {
		return item.Description
	}
	return joined(", ", item.Description, kind)
}

// kindText names what an item is in English words.
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

// noiseless gives a difference of numbers of a size, 0 where it is only the noise of calculating in
// binary.
func noiseless(difference, of *float64) *float64 {
	if difference != nil && of != nil && math.Abs(*difference) < math.Abs(*of)*1e-9 {
		return new(float64)
	}
	return difference
}
