package serves

import (
	"math"
	"strconv"

	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// Objections to a standard's range.
const (
	objectKind          = "kind" // it measures something else
	objectMode          = "mode"
	objectBarometer     = "barometer" // it measures an absolute pressure only with a barometer beside it
	objectLow           = "low"
	objectHigh          = "high"
	objectSpecification = "no_specification"
	objectStatement     = "no_statement"
	objectRatio         = "ratio"
)

// usualNeed is the required ratio of limit to expanded uncertainty if a method states none. Common
// practice, no source.
const usualNeed = 4

// bridge converts an instrument's indication to the quantity that a standard measures.
type bridge struct {
	from, to units.Unit
	down     float64 // for an absolute pressure: the zero of a gauge standard, in its unit
	air      byte    // 0: same quantity; a: altitude by static pressure; s: airspeed by impact pressure
}

// bridgeTo returns the bridge from an instrument's quantity to a standard's. A rate of climb has
// none, since no single pressure corresponds to it.
func bridgeTo(from, to units.Unit, climbs bool) (bridge, bool) {
	b := bridge{from: from, to: to}
	switch {
	case from.Kind == to.Kind:
	case to.Kind == units.Pressure && from.Kind == units.Length:
		b.air = 'a'
	case to.Kind == units.Pressure && from.Kind == units.Speed && !climbs:
		b.air = 's'
	default:
		return b, false
	}
	return b, true
}

// over converts a value. The altitude is that of the standard atmosphere, the airspeed calibrated
// airspeed.
func (b *bridge) over(x float64) float64 {
	si := b.from.ToSI(x)
	switch b.air {
	case 'a':
		si, _ = airdata.ISO().Pressure(si) // a plan stays inside the atmosphere
	case 's':
		si = airdata.ISO().Impact(max(si/(units.Knot), 0))
	}
	return b.to.FromSI(si) - b.down
}

// limit converts a limit about a value. If the limits up and down differ, it returns the smaller
// one.
func (b *bridge) limit(at, limit float64) float64 {
	if b.air == 0 {
		return b.to.FromInterval(b.from.Interval(limit))
	}
	here := b.over(at)
	above, below := math.Abs(b.over(at+limit)-here), math.Abs(b.over(at-limit)-here)
	if b.air == 's' && at < limit { // below zero there is no airspeed
		return above
	}
	return min(above, below)
}

// candidate is a standard's range that is compared with a demand.
type candidate struct {
	bridge
	low, high float64
	known     bool // the range states its ends
	mode      string
	standard  standard.Standard
	stated    bool
}

// readCandidate reads a range as in a standard's record.
func readCandidate(r *document.Reader, to units.Unit) candidate {
	c := candidate{mode: r.ChoiceOr("mode", "", "gauge", "absolute", "differential")}
	if r.Has("low") && r.Has("high") {
		c.low, c.high, c.known = r.Number("low"), r.Number("high"), true
	}
	for _, name := range []string{"of_reading_percent", "of_span_percent", "absolute", "stability_ppm"} {
		c.stated = c.stated || r.Has(name)
	}
	if c.known && c.stated {
		c.standard.Ranges = []standard.Range{standard.ReadRange(r)}
	}
	if r.Has("points") {
		c.standard.Points = standard.ReadPoints(r)
	}
	c.standard.DriftPerYear = r.NumberOr("drift_per_year", 0)
	work.Skim(r)
	c.to = to
	return c
}

// Calculations returns the calculation of the package.
func Calculations(kinds work.Kinds) []document.Calculation {
	return []document.Calculation{
		{
			Name: "serves",
			Call: func(in *document.Reader, out *document.Writer) error { return calculateServes(kinds, in, out) },
		},
	}
}

// calculateServes is the calculation serves: whether one range of a standard serves a method on an
// instrument, and the objections to it.
//
// Takes:   {method, instrument, label?, range, years_since?, meter?, barometer?, air_hpa?}; with
// meter the range is of the device that reads a transmitter's output, with barometer of the device
// that measures the air beside a gauge standard (air_hpa if known). A gauge range on an absolute
// instrument is compared with the pressures less the standard atmosphere, and the objection
// "barometer" means that a barometer is needed too. The range is as in the standard's record, in
// its own unit.
// Gives:   {serves, measures, unit, low, high, fit, needed_ratio, worst?, objections, range?}:
// worst and the objections name values in the instrument's unit; range is the standard's range
// converted to that unit, if it has another. For a pressure standard on an altimeter or airspeed
// indicator, whose uncertainty differs from value to value, range has the largest one.
// Refuses: meter or barometer for a kind of work that uses none, and both at once.
// Source:  altitude by static pressure: ISO 2533; airspeed by impact pressure: airdata.Impact;
// limit over expanded uncertainty: calculation standard.
func calculateServes(kinds work.Kinds, in *document.Reader, out *document.Writer) error {
	meter, barometer := in.Flag("meter", false), in.Flag("barometer", false)
	switch {
	case in.Err() != nil:
		return in.Err()
	case meter && barometer:
		in.Fail(document.CodeConflict, "barometer", "a range serves as a meter or as a barometer, not as both")
		return in.Err()
	case meter:
		return meterServes(kinds, in, out)
	case barometer:
		return barometerServes(kinds, in, out)
	}
	r := in.Object("range")
	to := units.Of(r, "unit", units.Pressure, units.Length, units.Speed, units.Current, units.Voltage)
	c := readCandidate(r, to)
	c.standard.YearsSince = in.NumberOr("years_since", 0)
	if in.Err() == nil && !(c.standard.YearsSince >= 0 && c.standard.DriftPerYear >= 0) {
		in.Fail(document.CodeRange, "years_since", "drift and years must not be below zero")
	}
	needed, climbs := neededBy(in)
	if err := in.Err(); err != nil {
		return err
	}
	d, err := demandOf(kinds, in)
	if err != nil {
		return err
	}
	own := modeOf(in)
	var list []objection
	beside := besideBarometer(kinds, in, &c, own)
	b, ok := bridgeTo(d.Unit, to, climbs)
	c.bridge = b
	if beside && ok && b.air == 0 {
		c.down, own = to.FromSI(units.StandardAtmosphere), c.mode
		list = append(list, objection{code: objectBarometer})
	}
	if !ok {
		list = append(list, objection{code: objectKind})
	} else {
		list = append(list, c.against(d, own)...)
	}
	var worst *ratioAt
	if ok && c.reaches(list) && (c.air == 0 || list == nil) && len(d.Points) > 0 {
		var more []objection
		worst, more = c.weigh(d, needed)
		list = append(list, more...)
	}
	c.write(in, out, d, needed, worst, list, ok)
	return nil
}

// neededBy returns the ratio that the method asks for, and whether it tests rates of climb.
func neededBy(in *document.Reader) (needed float64, climbs bool) {
	needed = usualNeed
	m, ok := in.Raw("method")
	if !ok || m.Kind != document.Object {
		return needed, false
	}
	if k, ok := m.Get("kind"); ok {
		climbs = k.Text == "vertical-speed"
	}
	if d, ok := m.Get("decision"); ok && d.Kind == document.Object {
		if n, ok := d.Get("needed_ratio"); ok {
			if x, err := strconv.ParseFloat(n.Text, 64); err == nil && x > 0 {
				needed = x
			}
		}
	}
	return needed, climbs
}

// modeOf returns the mode of the instrument's pressure, "" if it states none.
func modeOf(in *document.Reader) string {
	if it, ok := in.Raw("instrument"); ok && it.Kind == document.Object {
		if m, ok := it.Get("mode"); ok {
			return m.Text
		}
	}
	return ""
}

type objection struct {
	code, text string
	at         float64
	placed     bool
}

type ratioAt struct{ ratio, at, expanded float64 }

// against compares reach and mode with the demand.
func (c *candidate) against(d *work.Demand, own string) []objection {
	var list []objection
	low, high := c.over(d.Low), c.over(d.High)
	if low > high {
		low, high = high, low // pressure falls with altitude
	}
	if d.Reaches && !(c.known && c.low <= low) {
		list = append(list, objection{code: objectLow})
	}
	if d.Reaches && !(c.known && c.high >= high) {
		list = append(list, objection{code: objectHigh})
	}
	wrong := c.mode != "" && own != "" && c.mode != own
	switch c.air {
	case 'a':
		wrong = c.mode != "absolute"
	case 's':
		wrong = c.mode == "absolute"
	}
	if wrong {
		list = append(list, objection{code: objectMode, text: c.mode})
	}
	return list
}

func (c *candidate) reaches(list []objection) bool {
	for _, o := range list {
		if o.code == objectLow || o.code == objectHigh {
			return false
		}
	}
	return true
}

// weigh finds the value with the lowest ratio of limit to expanded uncertainty.
func (c *candidate) weigh(d *work.Demand, needed float64) (*ratioAt, []objection) {
	if len(c.standard.Ranges) == 0 {
		return nil, []objection{{code: objectSpecification}}
	}
	var worst *ratioAt
	var list []objection
	for _, p := range d.Points {
		u, _, err := c.standard.Uncertainty(c.over(p.At))
		if err != nil {
			if list == nil {
				list = append(list, objection{objectStatement, document.AsFault(err).Message, p.At, true})
			}
			continue
		}
		limit := c.limit(p.At, p.Limit)
		expanded := float64(2 * u)
		if ratio := limit / expanded; worst == nil || ratio < worst.ratio {
			worst = &ratioAt{ratio, p.At, p.Limit * expanded / limit}
		}
	}
	if list == nil && worst.ratio < needed {
		list = append(list, objection{code: objectRatio, at: worst.at, placed: true})
	}
	return worst, list
}

func (c *candidate) write(
	in *document.Reader, out *document.Writer, d *work.Demand, needed float64, worst *ratioAt,
	list []objection, comparable bool,
) {
	out.Flag("serves", len(list) == 0)
	out.Text("measures", string(c.to.Kind))
	if d.Reaches {
		out.Number("low", d.Low)
		out.Number("high", d.High)
	}
	if comparable && d.Reaches && c.known && c.high > c.low {
		out.Number("fit", min(1, math.Abs(c.over(d.High)-c.over(d.Low))/(c.high-c.low)))
	}
	out.Number("needed_ratio", needed)
	if worst != nil {
		out.BeginObject("worst")
		out.Number("ratio", worst.ratio)
		out.Text("point", atPoint(worst.at))
		out.End()
	}
	out.BeginList("objections")
	for _, o := range list {
		out.Begin()
		out.Text("code", o.code)
		if o.text != "" {
			out.Text("text", o.text)
		}
		if o.placed {
			out.Text("point", atPoint(o.at))
		}
		out.End()
	}
	out.EndList()
	if comparable && c.from.Name != c.to.Name {
		c.moved(in, out, d, worst)
	}
}

// atPoint writes a value of the plan without digits that come only from its conversion.
func atPoint(x float64) string {
	return numeric.Places(numeric.RoundSignificant(x, 9), 9)
}

// moved writes the standard's range in the instrument's unit.
func (c *candidate) moved(in *document.Reader, out *document.Writer, d *work.Demand, worst *ratioAt) {
	unit, mode := "", ""
	if it, ok := in.Raw("instrument"); ok {
		if u, ok := it.Get("unit"); ok {
			unit = u.Text
		}
		if m, ok := it.Get("mode"); ok {
			mode = m.Text
		}
	}
	c.movedTo(in, out, d, worst, unit, mode)
}

// movedTo writes the standard's range in another unit.
func (c *candidate) movedTo(
	in *document.Reader, out *document.Writer, d *work.Demand, worst *ratioAt, unit, mode string,
) {
	raw, _ := in.Raw("range")
	number := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	out.BeginObject("range")
	if c.air != 0 {
		out.Text("low", number(d.Low))
		out.Text("high", number(d.High))
		out.Text("unit", unit)
		if mode != "" {
			out.Text("mode", mode)
		}
		if worst != nil {
			out.Text("absolute", number(c.largest(d)))
			out.Text("k", "2")
		}
		out.End()
		return
	}
	value := func(v *document.Value) string {
		x, _ := strconv.ParseFloat(v.Text, 64)
		return number(c.from.FromSI(c.to.ToSI(x)))
	}
	change := func(v *document.Value) string {
		x, _ := strconv.ParseFloat(v.Text, 64)
		return number(c.from.FromInterval(c.to.Interval(x)))
	}
	items := raw.Items()
	for i, name := range raw.Names() {
		v := &items[i]
		switch name {
		case "unit":
			out.Text(name, unit)
		case "low", "high":
			out.Text(name, value(v))
		case "absolute", "drift_per_year", "max_rate", "resolution":
			out.Text(name, change(v))
		case "points":
			out.BeginList(name)
			for _, p := range v.List() {
				out.Begin()
				fields := p.Items()
				for k, n := range p.Names() {
					switch n {
					case "applied":
						out.Text(n, value(&fields[k]))
					case "error", "expanded":
						out.Text(n, change(&fields[k]))
					default:
						out.Value(n, &fields[k])
					}
				}
				out.End()
			}
			out.EndList()
		default:
			out.Value(name, v)
		}
	}
	out.End()
}

// largest returns the largest expanded uncertainty at the judged values, in the instrument's unit.
func (c *candidate) largest(d *work.Demand) float64 {
	most := 0.0
	for _, p := range d.Points {
		if u, _, err := c.standard.Uncertainty(c.over(p.At)); err == nil {
			most = max(most, float64(2*u)*p.Limit/c.limit(p.At, p.Limit))
		}
	}
	return most
}

// demandOf lays out a document's method and returns what it demands of a standard.
func demandOf(kinds work.Kinds, in *document.Reader) (*work.Demand, error) {
	k := kinds.Of(in)
	if err := in.Err(); err != nil {
		return nil, err
	}
	d := &work.Demand{}
	if it, ok := in.Raw("instrument"); ok && it.Kind == document.Object {
		if u, ok := it.Get("unit"); ok && u.Kind == document.String {
			d.Unit, _ = units.Find(u.Text)
		}
	}
	p := &work.Plan{
		Out: document.NewWriter(nil), Screen: 1,
		Label: in.ChoiceOr("label", "as found", "as left", "repeat"), Demand: d,
	}
	p.Out.BeginList("steps")
	if err := k.Expand(in, p); err != nil {
		return nil, err
	}
	return d, in.Err()
}
