package export

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc/units"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

func (w *writer) row(table string, whole json.RawMessage, cells ...string) error {
	return w.sheets[table].put(whole, cells...)
}

// by returns a function that gives a field of a record to order by.
func by(name string) func(merge.State) string {
	return func(s merge.State) string { return field(&s, name) }
}

// instruments writes the instruments ordered by tag, each with its visits.
func (w *writer) instruments() error {
	for _, id := range w.wanted.Instruments {
		w.records[id] = true
	}
	return w.inOrder("instrument", by("tag"), func(s merge.State) error {
		v, err := plant.ReadInstrument(s)
		if unreadable(err) != nil {
			return err
		}
		if w.records != nil {
			w.records[v.Method] = true
		}
		months := ""
		if v.IntervalMonths != 0 {
			months = strconv.Itoa(v.IntervalMonths)
		}
		err = w.row(
			"instruments", fields(&s), s.ID, w.codes[s.Site], v.Tag, v.Serial, v.Description, v.Kind,
			v.Manufacturer, v.Model, string(v.Range.Low), string(v.Range.High), v.Range.Unit, v.Range.Mode,
			string(v.Resolution), string(v.Overload), limitText(&v.Limit), v.Medium, v.Area, v.Place, v.Note,
			w.methods[v.Method], months, v.Due, v.Status, strings.Join(v.Cautions, ", "),
			strings.Join(v.Aliases, ", "), strings.Join(v.Customer, "\n"), v.Language,
			problem(err),
		)
		if err != nil {
			return err
		}
		if err := w.earlier(&s, &v); err != nil {
			return err
		}
		return w.visitsOf(s.ID)
	})
}

// earlier writes an instrument's imported past results.
func (w *writer) earlier(s *merge.State, i *plant.Instrument) error {
	kids, err := w.src.Children(s.ID)
	if err != nil {
		return err
	}
	kids = slices.DeleteFunc(kids, func(k merge.State) bool { return k.Kind != "result" })
	slices.SortFunc(kids, func(a, b merge.State) int {
		return strings.Compare(field(&a, "started")+a.ID, field(&b, "started")+b.ID)
	})
	verdict := func(r *plant.RunSummary) string {
		if r == nil {
			return ""
		}
		return r.Verdict
	}
	for _, k := range kids {
		w.take(&k)
		v, err := plant.ReadPastResult(k)
		if unreadable(err) != nil {
			return err
		}
		bad, path, adjusted := problem(err), "", ""
		if v.Adjusted {
			adjusted = "yes"
		}
		of := visitOf{k.ID, v.Started, i.Tag, i.Serial}
		if v.Certificate.File != "" {
			if path, err = w.file(of, "earlier", v.Certificate.File, "", v.Certificate.Number); err != nil {
				return err
			}
		}
		if sheet := v.Brought.Sheet; sheet != "" && !w.sheetsIn[sheet] {
			w.sheetsIn[sheet] = true
			if _, err := w.file(visitOf{}, "sheet", sheet, ".csv", v.Brought.Name); err != nil {
				return err
			}
		}
		err = w.row(
			"earlier_results", fields(&k), k.ID, s.ID, i.Tag, i.Serial, v.Started[:min(len(v.Started), 10)],
			verdict(v.Summary.AsFound), verdict(v.Summary.AsLeft), adjusted, v.Certificate.Number,
			v.Certificate.By, path, v.Note, v.Brought.Name, v.Brought.Line, v.Brought.At, bad,
		)
		if err != nil {
			return err
		}
	}
	return nil
}

// limitText writes the limit of an instrument's error in words.
func limitText(l *plant.Limit) string {
	var parts []string
	say := func(before string, d plant.Decimal, behind string) {
		if d != "" {
			parts = append(parts, before+string(d)+behind)
		}
	}
	say("class ", l.Class, "")
	if l.StopPin {
		parts = append(parts, "stop pin")
	}
	say("grade ", plant.Decimal(l.Grade), "")
	say("", l.OfSpanPercent, " % of span")
	say("", l.OfReadingPercent, " % of reading")
	say("", l.Absolute, "")
	return strings.Join(parts, " + ")
}

// standards writes the wanted standards, with their certificates and the visits that tested them.
func (w *writer) standards() error {
	return w.inOrder("standard", by("name"), func(s merge.State) error {
		v, err := plant.ReadStandard(s)
		if unreadable(err) != nil {
			return err
		}
		var ranges []string
		for _, r := range v.Ranges {
			text := fmt.Sprintf("%s … %s %s", r.Low, r.High, r.Unit)
			if r.Mode != "" && units.HasMode(r.Unit) {
				text += " " + r.Mode
			}
			ranges = append(ranges, text)
		}
		err = w.row(
			"standards", fields(&s), s.ID, v.Name, v.Serial, v.Manufacturer, v.Model,
			strings.Join(ranges, "; "), v.CertificateNo, v.Calibrated, v.Due, v.Status, problem(err),
		)
		if err == nil {
			err = w.calibrations(&s, &v)
		}
		if err != nil || w.records != nil { // its own tests do not belong to the wanted instruments
			return err
		}
		return w.visitsOf(s.ID)
	})
}

// calibrations writes the certificates of a standard, a row for each of their points.
func (w *writer) calibrations(s *merge.State, v *plant.Standard) error {
	for i := range s.Fields {
		name, ok := strings.CutPrefix(s.Fields[i].Name, "certificate.")
		if !ok {
			continue
		}
		var c struct {
			Number, Calibrated, Due, By, File string
			Range                             plant.Range
			Points                            []struct{ Applied, Error, Expanded, K plant.Decimal }
		}
		b, ok := s.Value("certificate." + name)
		if !ok || json.Unmarshal(b, &c) != nil {
			continue // its fields have it unchanged
		}
		path := ""
		if c.File != "" {
			var err error
			path, err = w.file(visitOf{}, "standard", c.File, "", v.Name+" "+c.Number)
			if err != nil {
				return err
			}
		}
		if len(c.Points) == 0 {
			c.Points = append(c.Points, struct{ Applied, Error, Expanded, K plant.Decimal }{})
		}
		for _, p := range c.Points {
			err := w.row(
				"standard_certificates", nil, s.ID, v.Name, v.Serial, c.Number, c.Calibrated, c.Due, c.By,
				string(p.Applied), string(p.Error), string(p.Expanded), string(p.K), c.Range.Unit, path,
			)
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// others writes visits whose instrument is missing.
func (w *writer) others() error {
	if w.records != nil {
		return nil
	}
	return w.each("visit", func(s merge.State) error {
		if w.subject[s.Parent] || s.Parent == "" && w.subject[field(&s, "instrument")] {
			return nil
		}
		return w.visit(s)
	})
}

func (w *writer) methodRows() error {
	return w.inOrder("method", by("name"), func(s merge.State) error {
		v, err := plant.ReadMethod(s)
		if unreadable(err) != nil {
			return err
		}
		return w.row("methods", fields(&s), s.ID, v.Name, v.Kind, strconv.Itoa(v.Version))
	})
}

func (w *writer) rounds() error {
	return w.inOrder("round", by("date"), func(s merge.State) error {
		v, err := plant.ReadRound(s)
		if unreadable(err) != nil {
			return err
		}
		var tags []string
		for _, stop := range v.Stops {
			i, ok, err := w.src.Record(stop.Instrument)
			if err != nil {
				return err
			}
			if tag := field(&i, "tag"); ok && tag != "" {
				tags = append(tags, tag)
			} else {
				tags = append(tags, stop.Instrument)
			}
		}
		return w.row(
			"rounds", fields(&s), s.ID, v.Date, w.called(v.Person), v.Title, strings.Join(tags, ", "),
		)
	})
}

func (w *writer) people() error {
	return w.inOrder("person", by("name"), func(s merge.State) error {
		v, err := plant.ReadPerson(s)
		if unreadable(err) != nil {
			return err
		}
		return w.row("people", fields(&s), s.ID, v.Name, v.Initials, v.Role)
	})
}

func (w *writer) sites() error {
	return w.inOrder("site", by("code"), func(s merge.State) error {
		v, err := plant.ReadSite(s)
		if unreadable(err) != nil {
			return err
		}
		return w.row("sites", fields(&s), s.ID, v.Code, v.Name, strings.Join(v.Customer, "\n"))
	})
}

// visitsOf writes the visits to an instrument or a standard, the earliest first.
func (w *writer) visitsOf(id string) error {
	w.subject[id] = true
	kids, err := w.src.Children(id)
	if err != nil {
		return err
	}
	kids = slices.DeleteFunc(kids, func(s merge.State) bool { return s.Kind != "visit" })
	slices.SortFunc(kids, func(a, b merge.State) int {
		return strings.Compare(field(&a, "started")+"\n"+a.ID, field(&b, "started")+"\n"+b.ID)
	})
	for _, s := range kids {
		if err := w.visit(s); err != nil {
			return err
		}
	}
	return nil
}
