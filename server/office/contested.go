package office

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strings"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

var (
	// ErrStale is wrapped if a field is no longer as it was shown.
	ErrStale = errors.New("the value has changed since it was shown; check it again")
	// ErrChoice is wrapped if a person chooses a value that the field does not have.
	ErrChoice = errors.New("that is not one of the conflicting values")
	// ErrRole is wrapped if a person's role may not settle a field.
	ErrRole = errors.New("your role may not do this")
)

const (
	// maxContested is how many records one answer lists. The rest appear as these are settled.
	maxContested = 200
	// maxContestedValue is the longest value that is sent for choosing; plans and strokes may be
	// longer.
	maxContestedValue = 4000
)

// title returns what people call a record: for a visit the tag its instrument had, for other
// records their tag, name, code, number or label.
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

// ContestedRow is a contested record in a list.
type ContestedRow struct {
	ID     string   `json:"id"`
	Kind   string   `json:"kind"`
	Title  string   `json:"title"`
	Fields []string `json:"fields"`
}

// Contested lists the records with contested fields, ordered by kind and title; more is how many
// are left out.
func (o *Office) Contested() (rows []ContestedRow, more int, err error) {
	all, err := o.contests.all()
	if err != nil {
		return nil, 0, err
	}
	rows = []ContestedRow{}
	for _, id := range slices.Sorted(maps.Keys(all)) {
		if len(rows) == maxContested {
			more++
			continue
		}
		state, ok, err := o.store.Record(id)
		if err != nil && !errors.Is(err, store.ErrDamaged) {
			return nil, 0, err
		}
		if ok {
			rows = append(rows, ContestedRow{id, state.Kind, title(&state), all[id]})
		}
	}
	slices.SortStableFunc(rows, func(a, b ContestedRow) int {
		return cmp.Or(strings.Compare(a.Kind, b.Kind), strings.Compare(a.Title, b.Title))
	})
	return rows, more, nil
}

// Standing is one of several contested values: who wrote it, when, on which device, and which value
// they had seen.
type Standing struct {
	Change string          `json:"change"`
	Value  json.RawMessage `json:"value"`           // null if it is too long to show
	Shown  string          `json:"shown,omitempty"` // the value in words, if it consists of ids
	Bytes  int             `json:"bytes"`
	Author string          `json:"author"`
	Device string          `json:"device"`
	Wall   string          `json:"wall"`
	Seen   []Standing      `json:"seen,omitempty"`
}

// ContestedField is a field with more than one value.
type ContestedField struct {
	Field  string     `json:"field"`
	May    bool       `json:"may"` // the asking user may choose
	Values []Standing `json:"values"`
}

func shortValue(b []byte) json.RawMessage {
	if len(b) == 0 || len(b) > maxContestedValue {
		return json.RawMessage("null")
	}
	return b
}

// inWords gives a round's person and stops by name and tag instead of id, and "" for every other
// value.
func (o *Office) inWords(kind, field string, value []byte, names map[string]string) (string, error) {
	switch {
	case kind != "round":
		return "", nil
	case field == "person":
		return Called(names, textOf(value)), nil
	case field != "stops":
		return "", nil
	}
	var stops []plant.Stop
	if json.Unmarshal(value, &stops) != nil {
		return "", nil
	}
	named := func(id string) (string, error) {
		state, _, err := o.store.Record(id)
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

// ContestedRecord is a record with its contested fields.
type ContestedRecord struct {
	ID, Kind, Title, Parent string
	Fields                  []ContestedField
}

// ContestedFields returns a record with its contested fields, and says which of them user may
// settle.
//
// Refuses: plant.ErrNotFound.
func (o *Office) ContestedFields(user auth.User, id string) (r ContestedRecord, err error) {
	state, err := o.Record(id)
	if err != nil {
		return r, err
	}
	names, err := o.Names()
	if err != nil {
		return r, err
	}
	entries, err := o.store.History(state.ID)
	if err != nil {
		return r, err
	}
	byID := map[string]*change.Change{}
	for i := range entries {
		byID[entries[i].Change.ID] = &entries[i].Change
	}
	fields := []ContestedField{}
	for i := range state.Fields {
		f := &state.Fields[i]
		if !f.Contested() {
			continue
		}
		one := ContestedField{Field: f.Name, May: mayChoose(user, &state, f.Name) == nil, Values: []Standing{}}
		stands := func(change string, value []byte, author, device, wall string) (Standing, error) {
			words, err := o.inWords(state.Kind, f.Name, value, names)
			return Standing{
				Change: change, Value: shortValue(value), Shown: words, Bytes: len(value),
				Author: Called(names, author), Device: device, Wall: wall,
			}, err
		}
		for _, h := range f.Heads {
			v, err := stands(h.Change, h.Value, h.Author, h.Device, h.Wall)
			if err != nil {
				return r, err
			}
			for _, set := range settings(byID[h.Change], f.Name) {
				for _, seen := range set.Sees {
					for _, was := range settings(byID[seen], f.Name) {
						w := byID[seen]
						before, err := stands(w.ID, was.Value, w.Author, w.Device, w.Wall)
						if err != nil {
							return r, err
						}
						v.Seen = append(v.Seen, before)
					}
				}
			}
			one.Values = append(one.Values, v)
		}
		fields = append(fields, one)
	}
	return ContestedRecord{state.ID, state.Kind, title(&state), state.Parent, fields}, nil
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

// mayChoose returns why a user may not settle a field, or nil.
func mayChoose(u auth.User, state *merge.State, field string) error {
	return auth.MayWrite(u, &change.Change{Author: u.ID, Kind: state.Kind, Set: []change.Setting{{Field: field}}})
}

// frozen refuses a write to an approved visit or one of its runs.
func (o *Office) frozen(state *merge.State) error {
	visit := *state
	if state.Kind == "run" {
		of, ok, err := o.store.Record(state.Parent)
		if err != nil || !ok {
			return err
		}
		visit = of
	}
	if visit.Kind != "visit" {
		return nil
	}
	return open(&visit)
}

// Settle settles a contested field with an ordinary change. It sets the value of the change choose
// again and names all changes in heads as seen. It refuses if the field's values are no longer
// those that were shown.
//
// Refuses: plant.ErrNotFound, ErrRole, ErrFrozen, ErrStale, ErrChoice.
func (o *Office) Settle(
	ctx context.Context, user auth.User, record, field string, heads []string, choose string,
) error {
	shown := slices.Sorted(slices.Values(heads))
	return o.writer.Write(ctx, user.ID, func(p *plant.Drafter) ([]change.Change, error) {
		state, err := o.Record(record)
		if err != nil {
			return nil, err
		}
		if err := mayChoose(user, &state, field); err != nil {
			return nil, ErrRole
		}
		if err := o.frozen(&state); err != nil {
			return nil, err
		}
		f, ok := state.Field(field)
		if !ok {
			return nil, ErrStale
		}
		var heads []string
		var value json.RawMessage
		for _, h := range f.Heads {
			heads = append(heads, h.Change)
			if h.Change == choose {
				value = h.Value
			}
		}
		slices.Sort(heads)
		switch {
		case !slices.Equal(heads, shown) || !f.Contested():
			return nil, ErrStale
		case value == nil:
			return nil, ErrChoice
		}
		one, _, err := p.Edit(state, o.now(), plant.Set{Field: field, Value: value})
		return []change.Change{one}, err
	})
}
