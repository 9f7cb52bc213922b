package desk

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"gaugewright/calc/numeric"
	"gaugewright/calc/rounding"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/server/report"
	"gaugewright/sync/merge"
)

const (
	// mostAttached bounds the attachments of a dossier, which is built in memory.
	mostAttached = 64 << 20
	// mostShown is how many photos are drawn in a dossier; all are attached.
	mostShown = 24
)

// folder is a dossier being built.
type folder struct {
	desk     *Desk
	language string
	names    map[string]string
	files    []report.File
	size     int
	left     []string // what did not fit or has not arrived
	parts    []report.Part
	shown    int
}

// Dossier puts everything of an instrument together: its record and who changed it, every visit
// with its readings, every result of the past, its certificates, photos and files, and what a
// look-back decided. Files are attached. It is in a language; "" is that of the laboratory.
//
// Refuses: plant.ErrNotFound, plant.ErrKind, plant.ErrValue.
func (d *Desk) Dossier(id, language string) (r report.Report, files []report.File, err error) {
	s, err := d.office.Record(id)
	if err != nil {
		return r, nil, err
	}
	i, err := plant.ReadInstrument(s)
	if err != nil {
		return r, nil, err
	}
	head, err := d.office.Letterhead()
	if err != nil {
		return r, nil, err
	}
	f := &folder{desk: d, language: cmp.Or(language, head.Language)}
	if f.names, err = d.office.Names(); err != nil {
		return r, nil, err
	}
	kids, err := d.store.Children(id)
	if err != nil {
		return r, nil, err
	}
	f.identity(&i)
	if err := f.overview(kids); err != nil {
		return r, nil, err
	}
	if err := f.lookbacks(id); err != nil {
		return r, nil, err
	}
	for _, k := range inTime(kids) {
		switch k.Kind {
		case "visit":
			err = f.visit(&k)
		case "result":
			err = f.result(&k)
		}
		if err != nil {
			return r, nil, err
		}
	}
	if err := f.changes(id); err != nil {
		return r, nil, err
	}
	f.attached()
	return report.Report{
		Title: f.say("Dossier of {}", cmp.Or(i.Tag, i.Serial, id)), Of: head.Name, Made: d.now(), Paper: head.Paper,
		Language: spoken(f.language), Parts: f.parts,
	}, f.files, nil
}

// inTime orders visits and results by when they began.
func inTime(kids []merge.State) []merge.State {
	kids = slices.Clone(kids)
	begun := func(s *merge.State) (text string) {
		if b, ok := s.Value("started"); ok {
			_ = json.Unmarshal(b, &text) // one that is not a text comes first
		}
		return text
	}
	slices.SortFunc(kids, func(a, b merge.State) int {
		return cmp.Or(strings.Compare(begun(&a), begun(&b)), strings.Compare(a.ID, b.ID))
	})
	return kids
}

func (f *folder) add(p report.Part) { f.parts = append(f.parts, p) }

func (f *folder) identity(i *plant.Instrument) {
	months := ""
	if i.IntervalMonths != 0 {
		months = f.say("{} months", strconv.Itoa(i.IntervalMonths))
	}
	f.add(report.Part{Heading: "The instrument as it is on record", Facts: [][2]string{
		{"Tag", i.Tag}, {"Serial", i.Serial}, {"Also known as", strings.Join(i.Aliases, ", ")},
		{"Description", i.Description}, {"Kind", f.word(cmp.Or(kindsCalled[i.Kind], i.Kind))}, {"Maker, model", strings.Trim(i.Manufacturer+", "+i.Model, ", ")},
		{"Range", f.span(&i.Range)}, {"Medium", i.Medium}, {"Area, place", strings.Trim(i.Area+", "+i.Place, ", ")},
		{"Whose it is", strings.Join(i.Customer, ", ")}, {"Interval", months}, {"Due", i.Due}, {"Status", f.word(i.Status)},
		{"Cautions", f.cautions(i.Cautions)}, {"Note", i.Note},
	}})
}

func summary(r *plant.RunSummary) (verdict, worst string) {
	if r == nil {
		return "", ""
	}
	return plant.VerdictWords(r.Verdict), percent(r.WorstFraction)
}

// overview writes one line for each occasion.
func (f *folder) overview(kids []merge.State) error {
	t := &report.Table{Name: "life", None: "Nothing was ever done.", Columns: []report.Column{
		{Name: "day", Wide: 1.3}, {Name: "as found", Wide: 1.3, Word: true}, {Name: "% of limit", Number: true, Wide: 0.9},
		{Name: "as left", Wide: 1.3, Word: true}, {Name: "% of limit", Number: true, Wide: 0.9},
		{Name: "adjusted", Wide: 0.9, Word: true}, {Name: "person", Wide: 1.6}, {Name: "state", Wide: 1.4, Word: true},
		{Name: "certificate", Wide: 1.3},
	}}
	for _, k := range inTime(kids) {
		var cells []string
		switch k.Kind {
		case "visit":
			v, err := plant.ReadVisit(k)
			if err != nil {
				if !office.Unreadable(err) {
					return err
				}
				t.Rows = append(t.Rows, []string{"", "cannot be read", "", "", "", "", "", "", ""})
				continue
			}
			found, a := summary(v.Summary.AsFound)
			left, b := summary(v.Summary.AsLeft)
			adjusted := ""
			if v.Adjusted != nil && v.Adjusted.Done {
				adjusted = "yes"
			}
			number, err := f.desk.certificateOf(k.ID)
			if err != nil {
				return err
			}
			cells = []string{
				f.desk.office.DateOf(v.Started), found, a, left, b, adjusted, office.Called(f.names, v.Person), string(v.Status), number,
			}
		case "result":
			v, err := plant.ReadPastResult(k)
			if err != nil {
				if !office.Unreadable(err) {
					return err
				}
				continue
			}
			found, a := summary(v.Summary.AsFound)
			left, b := summary(v.Summary.AsLeft)
			adjusted := ""
			if v.Adjusted {
				adjusted = "yes"
			}
			cells = []string{first(v.Started, 10), found, a, left, b, adjusted, v.Certificate.By, "brought in", v.Certificate.Number}
		default:
			continue
		}
		t.Rows = append(t.Rows, cells)
	}
	f.add(report.Part{Heading: "Its life in short", Table: t})
	return nil
}

// lookbacks writes what was decided when a standard was out.
func (f *folder) lookbacks(id string) error {
	states, err := f.desk.store.ByKind("lookback", "", 0)
	if err != nil {
		return err
	}
	for _, s := range states {
		l, err := plant.ReadLookback(s)
		if err != nil {
			continue // the look-back's own page says so
		}
		item, touched := l.Affected[id]
		if !touched {
			continue
		}
		x := f.desk.touched(&l, id, item, f.names)
		row := f.desk.row(&l, f.names, nil)
		f.add(report.Part{Heading: f.say("A standard was out: {}", row.Name), Facts: [][2]string{
			{"In doubt since", f.day(row.Since)}, {"How it was found", row.Reason}, {"Decision", f.word(wayWords[x.Way])},
			{"Reason", x.Reason}, {"Owner, by", strings.Trim(x.Owned+", "+x.Due, ", ")}, {"Decided by", x.By},
			{"Closed", strings.Trim(first(x.ClosedAt, 10)+", "+x.Note, ", ")},
		}})
	}
	return nil
}

// visit writes a visit with its runs, and attaches what belongs to it.
func (f *folder) visit(s *merge.State) error {
	v, err := plant.LoadVisit(f.desk.store, s.ID)
	if office.Unreadable(err) {
		f.add(report.Part{Heading: f.say("A visit that cannot be read"), Text: []string{s.ID + ": " + err.Error()}})
		return nil
	}
	if err != nil {
		return err
	}
	day := f.desk.office.DateOf(v.Started)
	facts := [][2]string{
		{"State", f.word(string(v.Status))}, {"Method", v.Method.Name},
		{"Reason for this method", v.Method.Reason}, {"Person", office.Called(f.names, v.Person)},
		{"Tag, serial then", strings.Trim(v.Item.Tag+", "+v.Item.Serial, ", ")}, {"Range then", f.span(&v.Item.Range)},
	}
	if u := v.Standard; u != nil {
		facts = append(facts, [2]string{"Standard", strings.Trim(u.Snapshot.Name+" "+u.Snapshot.Serial+", "+u.Snapshot.CertificateNo, ", ")})
	}
	if v.Adjusted != nil && v.Adjusted.Done {
		facts = append(facts, [2]string{"Adjusted", cmp.Or(v.Adjusted.Note, f.say("yes"))})
	}
	if v.NotTested != nil {
		facts = append(facts, [2]string{"Not tested", v.NotTested.Reason})
	}
	if x := v.Disposition; x != nil {
		facts = append(facts, [2]string{"After the failure", strings.Trim(f.word(strings.ReplaceAll(x.Way, "_", " "))+", "+x.Reason, ", ")})
	}
	if v.Signature != nil {
		facts = append(facts, [2]string{"Signed", office.Called(f.names, v.Signature.By) + ", " + f.desk.moment(v.Signature.At)})
	}
	if v.Approval != nil {
		facts = append(
			facts, [2]string{"Approved", office.Called(f.names, v.Approval.By) + ", " + f.desk.moment(v.Approval.At)},
			[2]string{"What the failure means", v.Approval.Effect},
		)
	}
	for _, list := range []struct {
		name string
		said []plant.Remark
	}{{"Remark", v.Remarks}, {"Sent back", v.Returns}, {"Opened again", v.Reopenings}} {
		for _, x := range list.said {
			facts = append(facts, [2]string{list.name, x.Text + " (" + office.Called(f.names, x.Author) + ")"})
		}
	}
	f.add(report.Part{Heading: f.say("Visit of {}", cmp.Or(f.day(day), f.say("an unknown day"))), NewPage: true, Facts: facts})
	runs, err := plant.Runs(f.desk.store, s.ID)
	if err != nil && !office.Unreadable(err) {
		return err
	}
	for i := range runs {
		if err := f.run(&runs[i], day); err != nil {
			return err
		}
	}
	if err := f.papers(s.ID); err != nil {
		return err
	}
	return f.photos(s, day)
}

func number(x *float64) string {
	if x == nil {
		return ""
	}
	return figure(*x)
}

// rounded writes a value to two digits of its expanded uncertainty, if it has one.
func rounded(x, expanded *float64) string {
	if x == nil || expanded == nil || !(*expanded > 0) {
		return number(x)
	}
	decimals := rounding.Decimals(*expanded)
	return numeric.FormatDecimals(numeric.RoundDecimals(*x, decimals), max(decimals, 0))
}

// run writes the readings of a run, and its result.
func (f *folder) run(r *plant.Run, day string) error {
	p := report.Part{Heading: f.say("Run {}", f.word(r.Label))}
	if r.Stopped != "" {
		p.Text = append(p.Text, f.say("Ended early: {}", r.Stopped))
	}
	t := &report.Table{Columns: []report.Column{
		{Name: "step", Wide: 1.4}, {Name: "what", Wide: 1}, {Name: "value", Number: true, Wide: 1}, {Name: "unit", Wide: 0.7},
		{Name: "time", Wide: 1.6}, {Name: "", Wide: 2.4},
	}}
	later := map[string]string{}
	for _, c := range r.Captures {
		if c.Supersedes != "" {
			later[c.Supersedes] = c.Reason
		}
	}
	captures := slices.Clone(r.Captures)
	slices.SortStableFunc(captures, func(a, b plant.Capture) int { return strings.Compare(a.At, b.At) })
	for _, c := range captures {
		note, value := "", string(c.Value)
		if why, gone := later[c.ID]; gone {
			note = f.say("corrected: {}", why)
		} else if c.Reason != "" {
			note = c.Reason
		}
		if c.Of == "trace" {
			value = f.say("file")
		}
		t.Rows = append(t.Rows, []string{c.Step, f.word(strings.ReplaceAll(c.Of, "_", " ")), f.answer(value), c.Unit, f.desk.moment(c.At), note})
	}
	if len(t.Rows) > 0 {
		p.Table = t
	}
	f.add(p)
	for _, name := range r.Records() {
		if err := f.attach("logger-"+day, f.file("record of a logger, run {}", r.Label), name); err != nil {
			return err
		}
	}
	if r.Finding == nil {
		return nil
	}
	p = report.Part{Facts: [][2]string{{"Verdict", strings.Trim(f.word(plant.VerdictWords(r.Finding.Verdict))+", "+f.word(r.Finding.Reason), ", ")}}}
	if len(r.Finding.Points) > 0 {
		p.Table = &report.Table{Columns: []report.Column{
			{Name: "applied", Number: true}, {Name: "error", Number: true}, {Name: "limit", Number: true},
			{Name: "U", Number: true}, {Name: "verdict", Wide: 1.4, Word: true},
		}}
		for _, x := range r.Finding.Points {
			p.Table.Rows = append(p.Table.Rows, []string{
				rounded(x.Applied, x.Expanded), rounded(x.Error, x.Expanded), number(x.Limit), rounded(x.Expanded, x.Expanded), plant.VerdictWords(x.Verdict),
			})
		}
	} else if len(r.Finding.Results) > 0 {
		p.Table = &report.Table{Columns: []report.Column{
			{Name: "result", Wide: 2, Word: true}, {Name: "value", Number: true}, {Name: "unit"}, {Name: "from", Number: true},
			{Name: "to", Number: true}, {Name: "U", Number: true}, {Name: "verdict", Wide: 1.4, Word: true},
		}}
		for _, x := range r.Finding.Results {
			p.Table.Rows = append(p.Table.Rows, []string{
				strings.ReplaceAll(x.Name, "_", " "), rounded(x.Value, x.Expanded), x.Unit, number(x.LimitLow), number(x.LimitHigh),
				rounded(x.Expanded, x.Expanded), plant.VerdictWords(x.Verdict),
			})
		}
	}
	for _, w := range r.Finding.Warnings {
		p.Facts = append(p.Facts, [2]string{"Warning", f.word(w.Message)})
	}
	f.add(p)
	return nil
}

// papers attaches the certificates of a visit.
func (f *folder) papers(visit string) error {
	kids, err := f.desk.store.Children(visit)
	if err != nil {
		return err
	}
	p := report.Part{}
	for _, k := range kids {
		if k.Kind != "certificate" {
			continue
		}
		c, err := plant.ReadCertificate(k)
		if err != nil {
			f.left = append(f.left, f.say("the certificate {} cannot be read", k.ID))
			continue
		}
		said := f.say("{} of {}", c.Number, f.day(first(c.Issued, 10)))
		if c.Replaces != "" {
			said += "; " + f.say("takes the place of {}: {}", c.Replaces, c.Why)
		}
		p.Facts = append(p.Facts, [2]string{"Certificate", said})
		b, err := f.desk.office.Document(&c)
		if err != nil {
			f.left = append(f.left, f.say("certificate {}", c.Number)+": "+f.word(err.Error()))
			continue
		}
		f.put("certificate-"+c.Number+".pdf", f.say("certificate {}", c.Number), b)
	}
	if len(p.Facts) > 0 {
		f.add(p)
	}
	return nil
}

// photos draws and attaches the photos of a visit.
func (f *folder) photos(s *merge.State, day string) error {
	p := report.Part{}
	for i := range s.Fields {
		name := s.Fields[i].Name
		if !strings.HasPrefix(name, "photo.") {
			continue
		}
		var photo struct{ Sha256, Type, Caption string }
		b, ok := s.Value(name)
		if !ok || json.Unmarshal(b, &photo) != nil || photo.Sha256 == "" {
			continue
		}
		at := len(f.files)
		if err := f.attach("photo-"+day, cmp.Or(photo.Caption, f.say("photo")), photo.Sha256); err != nil {
			return err
		}
		kind := map[string]string{"image/jpeg": "JPG", "image/png": "PNG"}[photo.Type]
		if len(f.files) > at && kind != "" && f.shown < mostShown {
			f.shown++
			p.Pictures = append(p.Pictures, report.Picture{Type: kind, Bytes: f.files[at].Bytes, Caption: photo.Caption})
		}
	}
	if len(p.Pictures) > 0 {
		f.add(p)
	}
	return nil
}

// result writes an imported past result.
func (f *folder) result(s *merge.State) error {
	v, err := plant.ReadPastResult(*s)
	if err != nil {
		f.left = append(f.left, f.say("a result of the past cannot be read: {}", s.ID))
		return nil
	}
	found, _ := summary(v.Summary.AsFound)
	left, _ := summary(v.Summary.AsLeft)
	f.add(report.Part{Heading: f.say("Brought in: {}", f.day(first(v.Started, 10))), Facts: [][2]string{
		{"As found", f.word(found)}, {"As left", f.word(left)}, {"Certificate", strings.Trim(v.Certificate.Number+", "+v.Certificate.By, ", ")},
		{"Note", v.Note}, {"Out of the sheet", f.say("{}, line {}", v.Brought.Name, v.Brought.Line)},
	}})
	if v.Certificate.File != "" {
		return f.attach("certificate-"+cmp.Or(v.Certificate.Number, first(v.Started, 10)), f.say("certificate that was brought in"), v.Certificate.File)
	}
	return nil
}

// attach attaches a blob, or names it if it is missing.
func (f *folder) attach(name, means, blob string) error {
	b, err := f.desk.store.Blob(blob)
	if errors.Is(err, fs.ErrNotExist) {
		f.left = append(f.left, means+": "+f.say("it has not arrived, or was erased"))
		return nil
	}
	if err != nil {
		return err
	}
	f.put(name+"-"+first(blob, 8)+extension(b), means, b)
	return nil
}

// begins are the first bytes of some kinds of file, with their file name extensions.
var begins = []struct{ bytes, ends string }{
	{"\xff\xd8\xff", ".jpg"}, {"\x89PNG\r\n\x1a\n", ".png"}, {"%PDF-", ".pdf"}, {"\x1f\x8b", ".gz"},
}

// extension returns the file name extension for some content.
func extension(b []byte) string {
	for _, x := range begins {
		if bytes.HasPrefix(b, []byte(x.bytes)) {
			return x.ends
		}
	}
	if utf8.Valid(b) {
		return ".txt"
	}
	return ".bin"
}

func (f *folder) put(name, means string, b []byte) {
	if f.size+len(b) > mostAttached {
		f.left = append(f.left, means+": "+f.say("the dossier is full; take everything out instead"))
		return
	}
	name = path.Base(strings.ReplaceAll(name, "/", "-"))
	f.size += len(b)
	f.files = append(f.files, report.File{Name: name, Means: means, Bytes: bytes.Clone(b)})
}

// changes lists who changed the instrument's record.
func (f *folder) changes(id string) error {
	past, err := f.desk.office.History(id)
	if err != nil {
		return err
	}
	t := &report.Table{Columns: []report.Column{
		{Name: "when", Wide: 1.5}, {Name: "who", Wide: 1.4}, {Name: "what", Wide: 1.3}, {Name: "before", Wide: 2}, {Name: "after", Wide: 2},
	}}
	for _, p := range past {
		for _, x := range p.Set {
			what, _, _ := strings.Cut(x.Field, ".")
			t.Rows = append(t.Rows, []string{
				f.desk.moment(p.Wall), p.Author, f.word(fieldCalled(what)), f.plain(what, x.Before), f.plain(what, x.Value),
			})
		}
	}
	f.add(report.Part{Heading: "Who changed its record", NewPage: true, Table: t})
	return nil
}

// attached lists the attachments, and what could not be attached.
func (f *folder) attached() {
	t := &report.Table{None: "Nothing is attached.", Columns: []report.Column{
		{Name: "file", Wide: 3}, {Name: "what it is", Wide: 4}, {Name: "bytes", Number: true, Wide: 1},
	}}
	for _, x := range f.files {
		t.Rows = append(t.Rows, []string{x.Name, x.Means, strconv.Itoa(len(x.Bytes))})
	}
	f.add(report.Part{Heading: "Attached to this file", Table: t, Text: f.left})
}
