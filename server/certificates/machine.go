package certificates

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/numeric"
	"gaugewright/server/dcc"
	"gaugewright/server/plant"
)

// MachineName is the name of the machine-readable file in the PDF.
const MachineName = "certificate.xml"

// Machine writes the digital calibration certificate of a certificate; the same input gives the
// same bytes. Refuses: ErrIncomplete, also if the laboratory has no country; ErrNotReady for one
// that would break a rule for such certificates.
func Machine(in Input) ([]byte, error) {
	if err := in.complete(); err != nil {
		return nil, err
	}
	c, err := in.machine()
	if err != nil {
		return nil, err
	}
	b, err := dcc.XML(&c)
	if errors.Is(err, dcc.ErrIncomplete) {
		return nil, fmt.Errorf("%w: %w", ErrIncomplete, err)
	}
	if err != nil {
		return nil, err
	}
	if err := dcc.Check(b); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotReady, err)
	}
	return b, nil
}

// Identifier returns the worldwide name of a certificate: a UUID of version 8 (RFC 9562) made from
// its number and the fingerprint of its record.
func Identifier(number, record string) string {
	sum := sha256.Sum256([]byte(number + "\n" + record))
	sum[6], sum[8] = sum[6]&0x0f|0x80, sum[8]&0x3f|0x80
	return fmt.Sprintf("urn:uuid:%x-%x-%x-%x-%x", sum[0:4], sum[4:6], sum[6:8], sum[8:10], sum[10:16])
}

func (in *Input) machine() (c dcc.Certificate, err error) {
	def, err := in.definition()
	if err != nil {
		return c, fmt.Errorf("the method's definition: %w", err)
	}
	v, s := &in.Visit, &sheet{in: in, def: def, tongue: in.tongue()}
	if day := v.Order.Received; day != "" {
		if _, err := time.Parse(time.DateOnly, day); err != nil {
			return c, fmt.Errorf("%w of visit %s: %q is no day on which the item was received", ErrNotReady, v.ID, day)
		}
	}
	item := &v.Item
	c = dcc.Certificate{Number: in.Number, ID: Identifier(in.Number, in.Record), Title: s.word(def.title()), Language: in.language(), Country: in.Office.Country, Record: in.Record,
		Begin: date(v.Started), End: date(v.Started), Issued: in.Issued.UTC().Format("2006-01-02"), Release: fallback(in.parts()[0].run.Finding.Calc, "0"),
		Laboratory: dcc.Party{Name: in.Office.Name, Lines: in.Office.Address}, Customer: dcc.Party{
			Name: in.Office.Customer[0], Lines: in.Office.Customer[1:],
		},
		Item: dcc.Item{Name: joined(
			", ", fallback(item.Description, s.word(kindText(item))), s.rangeText(item.Range),
		), Maker: item.Manufacturer, Model: item.Model, Serial: item.Serial,
			Tag: item.Tag, Low: dcc.Number{Value: string(item.Range.Low), Unit: item.Range.Unit}, High: dcc.Number{
				Value: string(item.Range.High), Unit: item.Range.Unit,
			},
			Resolution: dcc.Number{Value: string(item.Resolution), Unit: in.signalUnit()}},
		Order: v.Order.Number, Received: v.Order.Received,
		People: []dcc.Person{
			{Name: in.Technician.Name, Role: joined(", ", s.say("did the work"), s.word(in.Technician.Function))},
			{
				Name: in.Approver.Name,
				Role: joined(", ", s.say("checked and authorised the {}", s.word(def.noun())), s.word(in.Approver.Function)), Signer: true,
			},
		},
	}
	if in.Issuer.Name != "" {
		c.People = append(c.People, dcc.Person{
			Name: in.Issuer.Name, Role: joined(", ", s.say("issued the {}", s.word(def.noun())), s.word(in.Issuer.Function)),
		})
	}
	if sig := v.Signature; sig != nil && date(sig.At) > c.End {
		c.End = date(sig.At)
	}
	if c.Issued < c.End { // the device's clock was ahead
		c.End = c.Issued
	}
	c.Begin = min(c.Begin, c.End)
	if in.Replaces != "" {
		if in.ReplacesRecord != "" {
			c.Replaces = Identifier(in.Replaces, in.ReplacesRecord)
		}
		c.WhyInstead = s.say("Replaces No. {}. Reason: {} What is different: {}", in.Replaces, in.Why, in.Change)
	}
	for _, p := range in.parts() {
		name, run, status := s.word(p.when), p.run, "beforeAdjustment"
		if run == in.Left {
			status = "afterAdjustment"
		}
		c.Work = append(c.Work, s.machineWork(name, status, run))
		text := name + ": " + s.verdict(run.Finding.Verdict) + "."
		if run.Finding.Reason != "" {
			text += " " + s.say("Reason: {}", s.sentence(run.Finding.Reason))
		}
		c.Statements = append(
			c.Statements,
			dcc.Statement{RefType: "basic_conformity", Text: text, Conformity: conformities[run.Finding.Verdict]},
		)
	}
	c.Statements = append(c.Statements, dcc.Statement{
		Text: s.say("Decision rule. {}", joined(" ", s.rule(), in.risk())),
	}, dcc.Statement{Text: s.uncertainty()},
		dcc.Statement{Text: s.traceability("The standard was calibrated", v.Standard, in.Calibrator, v.Started)}, dcc.Statement{
			Text: s.say("Place of the work: {}", fallback(in.Place, s.say("not recorded"))),
		})
	c.Statements = append(c.Statements, dcc.Statement{Text: s.validity()})
	if text := s.accreditationText(in.Office.Accreditation); text != "" {
		c.Statements = append(c.Statements, dcc.Statement{Text: s.say("Accreditation: {}", text)})
	}
	for _, r := range v.Remarks {
		c.Statements = append(c.Statements, dcc.Statement{Text: s.say("Remark: {}", r.Text)})
	}
	for _, text := range slices.Concat(s.departures(in.parts()), s.warnings(in.Found, in.Left)) {
		c.Statements = append(c.Statements, dcc.Statement{Text: text})
	}
	return c, nil
}

// signalUnit returns the unit in which the item is read.
func (in *Input) signalUnit() string {
	if o := in.Visit.Item.Output; o != nil {
		return o.Unit
	}
	return in.Visit.Item.Range.Unit
}

// conformities are the schema's words for verdicts; it has none for undecided.
var conformities = map[string]string{
	"pass": "pass", "fail": "fail", "conditional-pass": "conditionalPass",
	"conditional-fail": "conditionalFail",
}

func date(stamp string) string { return stamp[:min(len(stamp), len("2006-01-02"))] }

func (s *sheet) machineWork(name, status string, run *plant.Run) dcc.Work {
	v := &s.in.Visit
	std := v.Standard.Snapshot
	w := dcc.Work{Name: name, Status: status,
		Methods: []dcc.Method{{
			Name: s.method(),
			Text: joined(". ", s.def.text(s.tongue), prefixed(s.say("Reason for this method")+": ", v.Method.Reason)),
		},
			{RefType: "basic_uncertainty", Name: s.say("Expanded uncertainty"), Norms: []string{"JCGM 100:2008"}}},
		Standards: []dcc.Standard{{Name: fallback(std.Name, s.say("reference standard")), Maker: std.Manufacturer, Model: std.Model, Serial: std.Serial,
			Certificate: std.CertificateNo, By: s.in.Calibrator, Hash: s.in.Rests}},
	}
	if a := v.Surroundings; a != nil {
		for _, c := range []dcc.Condition{{
			RefType: "basic_temperature", Name: s.say("Air temperature"),
			Value: dcc.Number{Value: string(a.TemperatureC), Unit: "degC"},
		},
			{Name: s.say("Air pressure"), Value: dcc.Number{Value: string(a.PressureHPa), Unit: "hPa"}},
			{
				RefType: "basic_humidityRelative", Name: s.say("Relative humidity"),
				Value: dcc.Number{Value: string(a.HumidityPercent), Unit: "%"},
			}} {
			if c.Value.Value != "" {
				w.Conditions = append(w.Conditions, c)
			}
		}
	}
	if len(run.Finding.Results) == 0 {
		w.Tables = s.machineTables(run)
		if len(w.Tables) == 0 {
			w.Figures = []dcc.Figure{{Name: name, Text: s.say("No reading was evaluated.")}}
		}
	}
	for i := range run.Finding.Results {
		w.Figures = append(w.Figures, s.machineFigure(&run.Finding.Results[i]))
	}
	return w
}

// series are the rows of one table: readings in one direction, all with an uncertainty or all
// without.
type series struct {
	number int
	known  bool // they have an uncertainty
}

// machineTables returns the readings of a run, a table for each series.
func (s *sheet) machineTables(run *plant.Run) (tables []dcc.Table) {
	r := gather(run, &s.in.Visit.Item)
	rows := map[series][]int{}
	var order []series
	for i := range r.readings {
		reading := &r.readings[i]
		if reading.Applied == nil || reading.Indicated == nil || reading.Error == nil {
			continue
		}
		u, _ := r.expanded(i)
		key := series{reading.Series, u != nil}
		if rows[key] == nil {
			order = append(order, key)
		}
		rows[key] = append(rows[key], i)
	}
	for _, key := range order {
		tables = append(tables, s.machineTable(&r, key, rows[key]))
	}
	return tables
}

func (s *sheet) machineTable(r *results, key series, rows []int) dcc.Table {
	item := &s.in.Visit.Item
	unit, signal := item.Range.Unit, s.in.signalUnit()
	first := &r.readings[rows[0]]
	name := map[string]string{"up": s.say("Rising pressure"), "down": s.say("Falling pressure")}[first.Direction]
	name = joined(", ", fallback(name, s.say("Readings")), s.say("series {}", count(key.number)))
	if !key.known {
		name += s.say(", without an evaluated uncertainty")
	}
	applied := dcc.Column{
		RefType: "basic_referenceValue",
		Name:    s.say("Applied pressure, {}", s.word(fallback(item.Range.Mode, "gauge"))), Unit: unit,
	}
	read := dcc.Column{RefType: "basic_measuredValue", Name: s.say("Indicated pressure"), Unit: signal}
	off := dcc.Column{
		RefType: "basic_measurementError", Name: s.say("Error, indicated − applied"), Unit: signal,
		Probability: share(s.def.coverage()),
	}
	ideal := dcc.Column{Name: s.say("Ideal signal"), Unit: signal}
	if item.Output != nil {
		read.Name, off.Name = s.say("Measured signal"), s.say("Error, measured − ideal")
	}
	limited, judged := true, true
	for _, i := range rows {
		reading, decimals := &r.readings[i], r.errorDecimals(i)
		applied.Values = append(applied.Values, ascii(r.applied[i]))
		applied.Nominal = append(applied.Nominal, plainPoint(reading.Point))
		read.Values = append(read.Values, ascii(r.indicated[i]))
		off.Values = append(off.Values, ascii(fixed(reading.Error, decimals)))
		x := *reading.Indicated - *reading.Error
		ideal.Values = append(ideal.Values, ascii(fixed(&x, max(decimals, r.decimals))))
		if u, k := r.expanded(i); u != nil {
			off.Expanded, off.Factors = append(off.Expanded, ascii(two(u))), append(off.Factors, factorText(k))
		}
		if limited = limited && reading.LimitLow != nil && reading.LimitHigh != nil; limited {
			digits := max(decimals, r.decimals+1)
			off.Low, off.High = append(off.Low, ascii(fixed(reading.LimitLow, digits))), append(
				off.High, ascii(fixed(reading.LimitHigh, digits)),
			)
		}
		word := conformities[reading.Verdict]
		judged = judged && word != ""
		off.Conformity = append(off.Conformity, word)
	}
	if !limited {
		off.Low, off.High = nil, nil
	}
	if !judged {
		off.Conformity = nil
	}
	if item.Output != nil {
		return dcc.Table{Name: name, Columns: []dcc.Column{applied, ideal, read, off}}
	}
	return dcc.Table{Name: name, Columns: []dcc.Column{applied, read, off}}
}

func (s *sheet) machineFigure(f *plant.Figure) dcc.Figure {
	out := dcc.Figure{Name: s.sentence(f.Name), Text: fallback(f.Condition, s.number(s.valueText(f))), Conformity: conformities[f.Verdict],
		Source: joined(". ", s.sentence(f.Source), s.sentence(f.Reason)),
		Low:    decimal(f.LimitLow), High: decimal(f.LimitHigh)}
	if f.Value == nil || f.Condition != "" {
		return out
	}
	x, decimals, given := s.rounded(f)
	out.Value = dcc.Number{Value: decimal(&x), Unit: fallback(f.Unit, "1")}
	if given {
		out.Value.Value = ascii(fixed(&x, decimals))
		expanded := numeric.RoundSignificant(*f.Expanded, 2)
		out.Value.Expanded, out.Value.Factor, out.Value.Probability = decimal(&expanded), factorText(f.K), share(s.def.coverage())
	}
	return out
}

// share writes a coverage probability as a fraction of one, with the stated digits.
func share(p float64) string {
	if p == twoSigma {
		return "0.95"
	}
	return strconv.FormatFloat(p, 'f', -1, 64)
}

// decimal writes a number in full, "" for none.
func decimal(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}

// ascii writes a printed number in machine-readable form.
func ascii(text string) string { return strings.Replace(text, "−", "-", 1) }
