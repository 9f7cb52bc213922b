package export

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"maps"
	"slices"
	"strings"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// Format names the format of an export.
const Format = "gaugewright-export-1"

// Papers returns the documents of certificates; the office implements it.
type Papers interface {
	Document(*plant.Certificate) ([]byte, error)
	Machine(*plant.Certificate) ([]byte, error)
	SignedRecord(*plant.Certificate) ([]byte, error)
}

// Wanted says what to export.
type Wanted struct {
	// Instruments are the ids of the instruments to export, with all records that theirs depend on;
	// nil for everything.
	Instruments []string
	// Part describes them in words; "" for everything.
	Part string
}

// About is the file export.json.
type About struct {
	Format  string `json:"format"`
	Part    string `json:"part"`    // which instruments, "" for everything
	Newest  string `json:"newest"`  // time of the newest change in it, UTC
	Changes int    `json:"changes"` // in record/changes.jsonl
	Records int    `json:"records"`
}

// writer writes one export.
type writer struct {
	src      *moment
	papers   Papers
	sink     Sink
	wanted   Wanted
	sheets   map[string]*sheet
	sums     map[string]string // SHA-256 by the name of a file
	records  map[string]bool   // records that belong to the part; nil for everything
	names    map[string]string // of people, by id
	codes    map[string]string // of sites, by id
	methods  map[string]string // names by id
	sheetsIn map[string]bool   // sheets of past results that are written
	subject  map[string]bool   // instruments and standards whose visits are written
	about    About
}

// Write exports what is wanted, in its state when the export begins.
//
// Takes:   the store; the source of its certificates' documents; the destination.
// Gives:   the contents of export.json.
func Write(s *store.Store, papers Papers, want Wanted, to Sink) (About, error) {
	last, err := s.Last()
	if err != nil {
		return About{}, err
	}
	w := &writer{
		src:    &moment{Store: s, last: last, past: plant.AsOf(s, last)},
		papers: papers, sink: to, wanted: want, sheets: map[string]*sheet{}, sums: map[string]string{},
		names: map[string]string{}, codes: map[string]string{}, methods: map[string]string{},
		sheetsIn: map[string]bool{}, subject: map[string]bool{}, about: About{Format: Format, Part: want.Part},
	}
	if want.Instruments != nil {
		w.records = map[string]bool{}
	}
	if err := w.all(); err != nil {
		return w.about, err
	}
	return w.about, w.finish()
}

func (w *writer) all() error {
	for i := range tables {
		if err := w.open(&tables[i]); err != nil {
			return err
		}
	}
	if err := w.known(); err != nil {
		return err
	}
	for _, part := range []func() error{
		w.instruments, w.standards, w.others, w.methodRows, w.rounds, w.people, w.sites,
	} {
		if err := part(); err != nil {
			return err
		}
	}
	for i := range tables {
		if err := w.sheets[tables[i].name].end(); err != nil {
			return err
		}
	}
	return w.changes()
}

// finish writes the files that describe the folder.
func (w *writer) finish() error {
	about, err := json.MarshalIndent(w.about, "", " ")
	if err != nil {
		return err
	}
	forms, err := schema()
	if err != nil {
		return err
	}
	for _, f := range []struct {
		name string
		b    []byte
	}{
		{"export.json", append(about, '\n')},
		{"tables.schema.json", append(forms, '\n')},
		{"README.txt", readMe(&w.about)},
	} {
		if err := w.put(f.name, f.b); err != nil {
			return err
		}
	}
	var b bytes.Buffer
	for _, name := range slices.Sorted(maps.Keys(w.sums)) {
		fmt.Fprintf(&b, "%s  %s\n", w.sums[name], name)
	}
	return w.sink.Put(sumsFile, b.Bytes())
}

// sumsFile lists the hashes of all other files, in the format of sha256sum.
const sumsFile = "SHA256SUMS"

// changesFile has the changes from which everything is made, one per line in journal order.
const changesFile = "record/changes.jsonl"

// summed is a file whose hash is recorded.
type summed struct {
	io.WriteCloser
	sum  hash.Hash
	name string
	w    *writer
}

func (f *summed) Write(b []byte) (int, error) {
	f.sum.Write(b)
	return f.WriteCloser.Write(b)
}

func (f *summed) Close() error {
	f.w.sums[f.name] = hex.EncodeToString(f.sum.Sum(nil))
	return f.WriteCloser.Close()
}

func (w *writer) create(name string) (io.WriteCloser, error) {
	f, err := w.sink.Create(name)
	if err != nil {
		return nil, err
	}
	return &summed{f, sha256.New(), name, w}, nil
}

// put writes a file unless it exists.
func (w *writer) put(name string, b []byte) error {
	if w.sums[name] != "" {
		return nil
	}
	sum := sha256.Sum256(b)
	w.sums[name] = hex.EncodeToString(sum[:])
	return w.sink.Put(name, b)
}

// takes reports whether a record belongs to the export.
func (w *writer) takes(id string) bool { return w.records == nil || w.records[id] }

// take notes that a record belongs to the export, and the authors of its values.
func (w *writer) take(s *merge.State) {
	if w.records == nil {
		return
	}
	w.records[s.ID] = true
	w.records[s.Site] = true
	for i := range s.Fields {
		for k := range s.Fields[i].Heads {
			w.records[s.Fields[i].Heads[k].Author] = true
		}
	}
}

// known reads the names that rows have instead of ids.
func (w *writer) known() error {
	return cmp.Or(
		w.each("person", func(s merge.State) error {
			p, err := plant.ReadPerson(s)
			w.names[s.ID] = p.Name
			return unreadable(err)
		}),
		w.each("site", func(s merge.State) error {
			v, err := plant.ReadSite(s)
			w.codes[s.ID] = v.Code
			return unreadable(err)
		}),
		w.each("method", func(s merge.State) error {
			m, err := plant.ReadMethod(s)
			w.methods[s.ID] = m.Name
			return unreadable(err)
		}),
	)
}

// unreadable drops an error of one record, which its row reports.
func unreadable(err error) error {
	if errors.Is(err, plant.ErrValue) || errors.Is(err, store.ErrDamaged) {
		return nil
	}
	return err
}

// problem is the text in the row of an unreadable record.
func problem(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

func (w *writer) called(id string) string {
	if name := w.names[id]; name != "" {
		return name
	}
	return id
}

// each calls do for the records of a kind, one after another.
func (w *writer) each(kind string, do func(merge.State) error) error {
	const piece = 200
	for after := ""; ; {
		list, err := w.src.ByKind(kind, after, piece)
		if err != nil {
			return err
		}
		for _, s := range list {
			after = s.ID
			s, ok, err := w.src.Record(s.ID)
			if err != nil {
				return err
			}
			if ok {
				if err := do(s); err != nil {
					return err
				}
			}
		}
		if len(list) < piece {
			return nil
		}
	}
}

// inOrder calls do for the exported records of a kind, ordered by a text, then by id.
func (w *writer) inOrder(kind string, by func(merge.State) string, do func(merge.State) error) error {
	type place struct{ order, id string }
	var list []place
	err := w.each(kind, func(s merge.State) error {
		if w.takes(s.ID) {
			list = append(list, place{by(s), s.ID})
		}
		return nil
	})
	if err != nil {
		return err
	}
	slices.SortFunc(list, func(a, b place) int {
		return cmp.Or(strings.Compare(a.order, b.order), strings.Compare(a.id, b.id))
	})
	for _, p := range list {
		s, ok, err := w.src.Record(p.id)
		if err != nil || !ok {
			return cmp.Or(err, fmt.Errorf("the record %q %w any more", p.id, plant.ErrNotFound))
		}
		w.take(&s)
		if err := do(s); err != nil {
			return err
		}
	}
	return nil
}

// field returns a text of a record, "" if it has none.
func field(s *merge.State, name string) (text string) {
	b, ok := s.Value(name)
	if !ok || json.Unmarshal(b, &text) != nil {
		return ""
	}
	return text
}

// fields returns all present values of a record, as an object.
func fields(s *merge.State) json.RawMessage {
	b := []byte{'{'}
	for i := range s.Fields {
		f := &s.Fields[i]
		v, ok := s.Value(f.Name)
		if !ok {
			continue
		}
		if len(b) > 1 {
			b = append(b, ',')
		}
		name, _ := json.Marshal(f.Name) // a text always marshals
		b = append(append(append(b, name...), ':'), v...)
	}
	return append(b, '}')
}

// changes writes the changes of the exported records, in journal order.
func (w *writer) changes() error {
	f, err := w.create(changesFile)
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	const piece = 1000
	for at := uint64(0); at < w.src.last; {
		list, next, err := w.src.Since(at, piece, func(c *change.Change) bool {
			return w.takes(c.Record) || c.Kind == "key"
		})
		if err != nil {
			return errors.Join(err, f.Close())
		}
		for i := range list {
			if list[i].Seq > w.src.last {
				break
			}
			c := &list[i].Change
			w.about.Changes++
			if !seen[c.Record] {
				seen[c.Record] = true
				w.about.Records++
			}
			w.about.Newest = max(w.about.Newest, c.Wall)
			if _, err := f.Write(append(c.Bytes(), '\n')); err != nil {
				return errors.Join(err, f.Close())
			}
		}
		if next == at {
			break
		}
		at = next
	}
	return f.Close()
}

// moment is a store in its state when an export began.
type moment struct {
	*store.Store
	last uint64
	past plant.Source
}

// still reports whether nothing has come since.
func (m *moment) still() (bool, error) {
	now, err := m.Last()
	return now == m.last, err
}

// Record returns a record in that state.
func (m *moment) Record(id string) (merge.State, bool, error) {
	s, ok, err := m.Store.Record(id)
	if err != nil {
		return s, ok, err
	}
	if same, err := m.still(); same || err != nil {
		return s, ok, err
	}
	return m.past.Record(id)
}

// Children returns the records below one in that state.
func (m *moment) Children(id string) ([]merge.State, error) {
	list, err := m.Store.Children(id)
	if err != nil {
		return nil, err
	}
	if same, err := m.still(); same || err != nil {
		return list, err
	}
	return m.past.Children(id)
}
