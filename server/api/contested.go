package api

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

var (
	errStale  = errors.New("what stands there has changed since it was shown; look at it again")
	errChoice = errors.New("that is none of the values that stand against each other")
)

const (
	// maxContested is how many records one answer lists; what is left comes up as these are dealt with.
	maxContested = 200
	// maxContestedValue is the length of a value that is sent for choosing; plans and strokes may be longer.
	maxContestedValue = 4000
)

// contests knows the records whose fields have values that stand against each other. It follows the journal and keeps what it knows, so that a
// start does not read every record.
type contests struct {
	store  *store.Store
	mu     sync.Mutex
	loaded bool
	cursor uint64
	open   map[string][]string // by record: the fields
}

// keyCursor is no record's id: those have no spaces.
const keyCursor = " cursor"

func newContests(s *store.Store) *contests {
	return &contests{store: s, open: map[string][]string{}}
}

func (k *contests) load() error {
	err := k.store.Private("contested").Each(func(id string, v []byte) error {
		if id == keyCursor {
			return json.Unmarshal(v, &k.cursor)
		}
		var fields []string
		if err := json.Unmarshal(v, &fields); err != nil {
			return err
		}
		k.open[id] = fields
		return nil
	})
	if err != nil {
		return fmt.Errorf("the list of contested records is damaged: %w", err)
	}
	k.loaded = true
	return nil
}

// all returns the contested fields by record, as of the journal's end.
func (k *contests) all() (map[string][]string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if !k.loaded {
		if err := k.load(); err != nil {
			return nil, err
		}
	}
	from, put, gone := k.cursor, map[string][]byte{}, map[string]bool{}
	for {
		list, last, err := k.store.Since(k.cursor, piece, nil)
		if err != nil {
			return nil, err
		}
		if len(list) == 0 {
			break
		}
		touched := map[string]bool{}
		for i := range list {
			touched[list[i].Change.Record] = true
		}
		for id := range touched {
			if err := k.look(id, put, gone); err != nil {
				return nil, err
			}
		}
		k.cursor = last
	}
	if k.cursor != from {
		b, err := json.Marshal(k.cursor)
		if err != nil {
			return nil, err
		}
		put[keyCursor] = b
		var remove []string
		for id := range gone {
			remove = append(remove, id)
		}
		if err := k.store.Private("contested").Batch(put, remove); err != nil {
			return nil, err
		}
	}
	out := make(map[string][]string, len(k.open))
	for id, fields := range k.open {
		out[id] = fields
	}
	return out, nil
}

// look reads a record and notes what is contested in it.
func (k *contests) look(id string, put map[string][]byte, gone map[string]bool) error {
	state, ok, err := k.store.Record(id)
	if err != nil || !ok {
		return err
	}
	fields := contestedFields(&state)
	if len(fields) > 0 {
		b, err := json.Marshal(fields)
		if err != nil {
			return err
		}
		k.open[id], put[id] = fields, b
		delete(gone, id)
		return nil
	}
	if _, was := k.open[id]; was {
		delete(k.open, id)
		delete(put, id)
		gone[id] = true
	}
	return nil
}

func contestedFields(s *merge.State) (names []string) {
	for i := range s.Fields {
		if s.Fields[i].Contested() {
			names = append(names, s.Fields[i].Name)
		}
	}
	return names
}

// title is what people call a record: a visit by its instrument's tag as it was, other records by their tag, name, code, number or label.
func title(s *merge.State) string {
	if b, ok := s.Value("item"); ok && s.Kind == "visit" {
		var item struct {
			Tag string `json:"tag"`
		}
		if json.Unmarshal(b, &item) == nil && item.Tag != "" {
			return item.Tag
		}
	}
	for _, name := range []string{"tag", "name", "code", "number", "title", "label"} {
		if b, ok := s.Value(name); ok {
			if text := textOf(b); text != "" {
				return text
			}
		}
	}
	return ""
}

// contestedRow is a contested record in a list.
type contestedRow struct {
	ID     string   `json:"id"`
	Kind   string   `json:"kind"`
	Title  string   `json:"title"`
	Fields []string `json:"fields"`
}

func (s *server) contestedList(c echo.Context) error {
	all, err := s.contests.all()
	if err != nil {
		return err
	}
	rows, more := []contestedRow{}, 0
	for _, id := range slices.Sorted(func(yield func(string) bool) {
		for id := range all {
			if !yield(id) {
				return
			}
		}
	}) {
		if len(rows) == maxContested {
			more++
			continue
		}
		state, ok, err := s.Store.Record(id)
		if err != nil {
			return err
		}
		if ok {
			rows = append(rows, contestedRow{id, state.Kind, title(&state), all[id]})
		}
	}
	slices.SortStableFunc(rows, func(a, b contestedRow) int {
		return cmp.Or(strings.Compare(a.Kind, b.Kind), strings.Compare(a.Title, b.Title))
	})
	return c.JSON(http.StatusOK, map[string]any{"records": rows, "more": more})
}

// standing is one of the values that stand against each other: who wrote it, when, on which device, and what they had before them.
type standing struct {
	Change string          `json:"change"`
	Value  json.RawMessage `json:"value"`           // null where it is too long to be shown
	Shown  string          `json:"shown,omitempty"` // the value as people read it, where it is made of ids
	Bytes  int             `json:"bytes"`
	Author string          `json:"author"`
	Device string          `json:"device"`
	Wall   string          `json:"wall"`
	Seen   []standing      `json:"seen,omitempty"`
}

type contestedField struct {
	Field  string     `json:"field"`
	May    bool       `json:"may"` // the asking user may choose
	Values []standing `json:"values"`
}

func shortValue(b []byte) json.RawMessage {
	if len(b) == 0 || len(b) > maxContestedValue {
		return json.RawMessage("null")
	}
	return b
}

// inWords writes what a round's person and stops are to people, who know names and tags and not ids; "" for every other value.
func (s *server) inWords(kind, field string, value []byte, names map[string]string) (string, error) {
	switch {
	case kind != "round":
		return "", nil
	case field == "person":
		return called(names, textOf(value)), nil
	case field != "stops":
		return "", nil
	}
	var stops []plant.Stop
	if json.Unmarshal(value, &stops) != nil {
		return "", nil
	}
	named := func(id string) (string, error) {
		state, _, err := s.Store.Record(id)
		return cmp.Or(title(&state), id), err
	}
	words := make([]string, len(stops))
	for i, stop := range stops {
		var err error
		if words[i], err = named(stop.Instrument); err != nil {
			return "", err
		}
		if stop.Method == "" {
			continue
		}
		method, err := named(stop.Method)
		if err != nil {
			return "", err
		}
		words[i] += " (" + method + ")"
	}
	return strings.Join(words, ", "), nil
}

func (s *server) contestedRecord(c echo.Context) error {
	state, err := s.record(c.Param("id"))
	if err != nil {
		return err
	}
	names, err := s.names()
	if err != nil {
		return err
	}
	entries, err := s.Store.History(state.ID)
	if err != nil {
		return err
	}
	byID := map[string]*change.Change{}
	for i := range entries {
		byID[entries[i].Change.ID] = &entries[i].Change
	}
	user := c.Get("user").(auth.User)
	fields := []contestedField{}
	for i := range state.Fields {
		f := &state.Fields[i]
		if !f.Contested() {
			continue
		}
		one := contestedField{Field: f.Name, May: s.mayChoose(user, &state, f.Name) == nil, Values: []standing{}}
		stands := func(change string, value []byte, author, device, wall string) (standing, error) {
			words, err := s.inWords(state.Kind, f.Name, value, names)
			return standing{Change: change, Value: shortValue(value), Shown: words, Bytes: len(value), Author: called(names, author), Device: device, Wall: wall}, err
		}
		for _, h := range f.Heads {
			v, err := stands(h.Change, h.Value, h.Author, h.Device, h.Wall)
			if err != nil {
				return err
			}
			for _, set := range settings(byID[h.Change], f.Name) {
				for _, seen := range set.Sees {
					for _, was := range settings(byID[seen], f.Name) {
						w := byID[seen]
						before, err := stands(w.ID, was.Value, w.Author, w.Device, w.Wall)
						if err != nil {
							return err
						}
						v.Seen = append(v.Seen, before)
					}
				}
			}
			one.Values = append(one.Values, v)
		}
		fields = append(fields, one)
	}
	return c.JSON(http.StatusOK, map[string]any{"id": state.ID, "kind": state.Kind, "title": title(&state), "parent": state.Parent, "fields": fields})
}

func settings(c *change.Change, field string) (list []change.Setting) {
	if c == nil {
		return nil
	}
	for _, set := range c.Set {
		if set.Field == field {
			list = append(list, set)
		}
	}
	return list
}

// mayChoose says why a user may not settle a field, or nil.
func (s *server) mayChoose(u auth.User, state *merge.State, field string) error {
	return auth.MayWrite(u, &change.Change{Author: u.ID, Kind: state.Kind, Set: []change.Setting{{Field: field}}})
}

// choose settles a field by a change like any other: it sets one of the standing values again and has seen them all. It is refused where
// other values stand there than the ones that were shown.
func (s *server) choose(c echo.Context) error {
	var in struct {
		Field  string   `json:"field"`
		Heads  []string `json:"heads"`
		Choose string   `json:"choose"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User)
	slices.Sort(in.Heads)
	err := s.desk.write(c.Request().Context(), user.ID, func(p *plant.Pen) ([]change.Change, error) {
		state, err := s.record(c.Param("id"))
		if err != nil {
			return nil, err
		}
		if err := s.mayChoose(user, &state, in.Field); err != nil {
			return nil, errRole
		}
		f, ok := state.Field(in.Field)
		if !ok {
			return nil, errStale
		}
		var heads []string
		var value json.RawMessage
		for _, h := range f.Heads {
			heads = append(heads, h.Change)
			if h.Change == in.Choose {
				value = h.Value
			}
		}
		slices.Sort(heads)
		switch {
		case !slices.Equal(heads, in.Heads) || !f.Contested():
			return nil, errStale
		case value == nil:
			return nil, errChoice
		}
		one, _, err := p.Edit(state, s.Now(), plant.Set{Field: in.Field, Value: value})
		return []change.Change{one}, err
	})
	if err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
