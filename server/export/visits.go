package export

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// visitOf names the visit that a row belongs to.
type visitOf struct{ visit, started, tag, serial string }

func (v visitOf) cells(more ...string) []string {
	return append([]string{v.visit, v.started, v.tag, v.serial}, more...)
}

// visit writes a visit with everything that belongs to it.
func (w *writer) visit(s merge.State) error {
	w.take(&s)
	v, err := plant.ReadVisit(s)
	if unreadable(err) != nil {
		return err
	}
	of := visitOf{s.ID, v.Started, v.Item.Tag, v.Item.Serial}
	kids, err2 := w.src.Children(s.ID)
	if err2 != nil {
		return err2
	}
	if err := w.visitRow(&s, &v, of, err); err != nil {
		return err
	}
	if w.records != nil {
		w.records[v.Person], w.records[v.Method.ID] = true, true
		for _, u := range []*plant.StandardUsed{v.Standard, v.Meter, v.Barometer} {
			if u != nil {
				w.records[u.ID] = true
			}
		}
	}
	slices.SortFunc(kids, func(a, b merge.State) int {
		return cmp.Or(strings.Compare(begun(&a), begun(&b)), strings.Compare(a.ID, b.ID))
	})
	for i := range kids {
		w.take(&kids[i])
		switch kids[i].Kind {
		case "run":
			err = w.run(kids[i], of)
		case "certificate":
			err = w.certificate(kids[i], of)
		}
		if err != nil {
			return err
		}
	}
	return w.photos(&s, of)
}

// begun returns the key that orders the records of a visit by time.
func begun(s *merge.State) string {
	if s.Kind == "run" {
		if r, err := plant.ReadRun(*s); err == nil {
			return r.Begun
		}
	}
	return field(s, "issued")
}

func (w *writer) visitRow(s *merge.State, v *plant.Visit, of visitOf, bad error) error {
	standard, serial, certificate := "", "", ""
	if v.Standard != nil {
		snap := &v.Standard.Snapshot
		standard, serial, certificate = snap.Name, snap.Serial, snap.CertificateNo
	}
	verdict := func(r *plant.RunSummary) string {
		if r == nil {
			return ""
		}
		return r.Verdict
	}
	adjusted, untested, version := "", "", ""
	if v.Adjusted != nil && v.Adjusted.Done {
		adjusted = "yes"
	}
	if v.NotTested != nil {
		untested = v.NotTested.Reason
	}
	if v.Method.Version != 0 {
		version = strconv.Itoa(v.Method.Version)
	}
	var remarks []string
	for _, r := range v.Remarks {
		remarks = append(remarks, r.Text)
	}
	signedBy, signedAt, approvedBy, approvedAt := "", "", "", ""
	if v.Signature != nil {
		signedBy, signedAt = v.Signature.Name, v.Signature.At
	}
	if v.Approval != nil {
		approvedBy, approvedAt = w.called(v.Approval.By), v.Approval.At
	}
	air := v.Surroundings
	if air == nil {
		air = &plant.Surroundings{}
	}
	return w.row("visits", fields(s), of.cells(
		v.Instrument, string(v.Status), w.called(v.Person), v.Method.Name, version, v.Method.Reason, standard, serial,
		certificate, string(air.TemperatureC), string(air.PressureHPa), string(air.HumidityPercent),
		verdict(v.Summary.AsFound), verdict(v.Summary.AsLeft), adjusted, untested,
		strings.Join(remarks, "\n"), signedBy, signedAt, approvedBy, approvedAt, problem(bad),
	)...)
}

// run writes the readings of a run and its finding.
func (w *writer) run(s merge.State, of visitOf) error {
	r, err := plant.ReadRun(s)
	if err != nil {
		return unreadable(err) // its changes have it unchanged
	}
	later := map[string]*plant.Capture{}
	for i := range r.Captures {
		if c := &r.Captures[i]; c.Supersedes != "" {
			later[c.Supersedes] = c
		}
	}
	for i := range r.Captures {
		c := &r.Captures[i]
		stands, now := "yes", later[c.ID]
		for range r.Captures { // a chain of corrections cannot be longer than that
			if now == nil || later[now.ID] == nil {
				break
			}
			now = later[now.ID]
		}
		value, unit := "", ""
		if now != nil {
			stands, value, unit = "no", string(now.Value), now.Unit
		}
		err := w.row("readings", nil, of.cells(
			r.ID, r.Label, c.ID, c.Step, c.Of, string(c.Value), c.Unit, c.At, w.called(c.Author), stands,
			value, unit, c.Supersedes, c.Reason,
		)...)
		if err != nil {
			return err
		}
		if w.records != nil {
			w.records[c.Author] = true
		}
		if c.Of != "trace" || !store.IsBlobName(string(c.Value)) {
			continue
		}
		name, packed := "", ""
		if c.File != nil {
			name = c.File.Name
			if c.File.Packed != "" {
				packed = ".gz"
			}
		}
		if _, err := w.file(of, "trace", string(c.Value), ending(name, ".txt")+packed, name); err != nil {
			return err
		}
	}
	if r.Finding == nil {
		return nil
	}
	return w.finding(&r, of)
}

func number(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'g', -1, 64)
}

// said returns a number or a text in readable form.
func said(b json.RawMessage) (text string) {
	if string(b) == "null" || json.Unmarshal(b, &text) == nil {
		return text
	}
	return string(b)
}

func (w *writer) finding(r *plant.Run, of visitOf) error {
	f := r.Finding
	put := func(
		whole json.RawMessage, what, name, series, direction, point, unit string, x [8]*float64,
		verdict, reason string,
	) error {
		cells := of.cells(r.ID, r.Label, what, name, series, direction, point, unit)
		for _, n := range x {
			cells = append(cells, number(n))
		}
		return w.row("findings", whole, append(cells, verdict, reason, f.Calc)...)
	}
	err := put(
		f.Raw, "run", "", "", f.Worst.Direction, said(f.Worst.Point), "", [8]*float64{}, f.Verdict,
		f.Reason,
	)
	for i := range f.Readings {
		x, series := &f.Readings[i], ""
		if x.Series != 0 {
			series = strconv.Itoa(x.Series)
		}
		err = cmp.Or(err, put(
			nil, "reading", x.Step, series, x.Direction, said(x.Point), "",
			[8]*float64{x.Applied, x.Indicated, x.Error, x.LimitLow, x.LimitHigh}, x.Verdict, "",
		))
	}
	for i := range f.Points {
		x := &f.Points[i]
		var low *float64
		if x.Limit != nil {
			n := -*x.Limit
			low = &n
		}
		err = cmp.Or(err, put(
			nil, "point", "", "", "", said(x.Point), "",
			[8]*float64{x.Applied, nil, x.Error, low, x.Limit, nil, x.Expanded, x.K}, x.Verdict, "",
		))
	}
	for i := range f.Results {
		x := &f.Results[i]
		err = cmp.Or(err, put(
			nil, "result", x.Name, "", "", "", x.Unit,
			[8]*float64{nil, nil, nil, x.LimitLow, x.LimitHigh, x.Value, x.Expanded, x.K}, x.Verdict,
			cmp.Or(x.Reason, x.Condition),
		))
	}
	return err
}

var plainName = regexp.MustCompile(`[^A-Za-z0-9-]+`)

// certificate writes a certificate with its documents.
func (w *writer) certificate(s merge.State, of visitOf) error {
	v, err := plant.ReadCertificate(s)
	if unreadable(err) != nil {
		return err
	}
	problems := []string{problem(err)}
	base := "certificates/" + plainName.ReplaceAllString(cmp.Or(v.Number, s.ID), "-")
	if w.sums[base+".pdf"] != "" || w.sums[base+".json"] != "" {
		base += "-" + s.ID // two certificates with the same number
	}
	document := func(ending string, get func(*plant.Certificate) ([]byte, error)) string {
		b, err := get(&v)
		if err != nil {
			if ending == ".pdf" {
				problems = append(problems, err.Error())
			}
			return ""
		}
		if err := w.put(base+ending, b); err != nil {
			problems = append(problems, err.Error())
			return ""
		}
		return base + ending
	}
	pdf := document(".pdf", w.papers.Document)
	xml := document(".xml", w.papers.Machine)
	record := document(".json", w.papers.SignedRecord)
	if v.Machine != "" {
		if _, err := w.file(of, "machine", v.Machine, ".xml", v.Number); err != nil {
			return err
		}
	}
	if v.Signed != nil {
		if _, err := w.file(of, "record", v.Signed.Record, ".json", v.Number); err != nil {
			return err
		}
	}
	problems = slices.DeleteFunc(problems, func(s string) bool { return s == "" })
	return w.row("certificates", fields(&s), of.cells(
		s.ID, v.Number, v.Issued, w.called(v.By), v.Replaces, v.Why, v.Different, pdf, xml, record,
		strings.Join(problems, "; "),
	)...)
}

var photoEndings = map[string]string{
	"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp", "image/heic": ".heic",
}

func (w *writer) photos(s *merge.State, of visitOf) error {
	for i := range s.Fields {
		f := &s.Fields[i]
		if !strings.HasPrefix(f.Name, "photo.") {
			continue
		}
		var p struct{ SHA256, Type, Caption string }
		b, ok := s.Value(f.Name)
		if !ok || json.Unmarshal(b, &p) != nil || !store.IsBlobName(p.SHA256) {
			continue
		}
		end := cmp.Or(photoEndings[p.Type], ".bin")
		if _, err := w.file(of, "photo", p.SHA256, end, p.Caption); err != nil {
			return err
		}
	}
	return nil
}

var endingForm = regexp.MustCompile(`^\.[a-z0-9]{1,5}$`)

// ending returns the extension of a file name, if it is harmless.
func ending(name, otherwise string) string {
	if e := strings.ToLower(path.Ext(name)); endingForm.MatchString(e) {
		return e
	}
	return otherwise
}

// file writes a blob and its row, and returns its path, "" if the blob is missing.
func (w *writer) file(of visitOf, what, sum, end, caption string) (string, error) {
	b, err := w.src.Blob(sum)
	if err == nil {
		if got := sha256.Sum256(b); hex.EncodeToString(got[:]) != sum {
			err = fs.ErrNotExist
		}
	}
	if errors.Is(err, fs.ErrNotExist) {
		return "", w.row("files", nil, of.cells(what, sum, "", caption, "it is not in the plant's data")...)
	}
	if err != nil {
		return "", err
	}
	if what == "standard" || what == "earlier" {
		end = ".bin"
		switch {
		case strings.HasPrefix(strings.TrimSpace(string(b[:min(len(b), 64)])), "<"):
			end = ".xml"
		case strings.HasPrefix(string(b), "%PDF"):
			end = ".pdf"
		case !strings.ContainsRune(string(b[:min(len(b), 512)]), 0):
			end = ".csv"
		}
	}
	name := "files/" + sum + end
	if err := w.put(name, b); err != nil {
		return "", err
	}
	return name, w.row("files", nil, of.cells(what, sum, name, caption, "")...)
}
