package office

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"gaugewright/sync/change"
)

// Past is one change of a record, in readable form.
type Past struct {
	Seq    uint64    `json:"seq"`
	Change string    `json:"change"`
	Record string    `json:"record"`
	Kind   string    `json:"kind"`
	Author string    `json:"author"`
	Device string    `json:"device"`
	Wall   string    `json:"wall"`
	Set    []PastSet `json:"set"`
}

// PastSet is one field of a past change.
type PastSet struct {
	Field  string          `json:"field"`
	Value  json.RawMessage `json:"value"` // null if it is too long for a list
	Bytes  int             `json:"bytes"`
	Before json.RawMessage `json:"before"` // what the writer saw there; null if nothing, or too long
	First  bool            `json:"first"`  // nothing was there before
	// Differs are the members in which an object or a list of objects differs from before.
	Differs []Differing `json:"differs,omitempty"`
}

// maxShown is the longest value that a history shows; plans, findings and strokes are longer.
const maxShown = 400

func (o *Office) past(names map[string]string, record string) ([]Past, error) {
	entries, err := o.store.History(record)
	if err != nil {
		return nil, err
	}
	call := o.caller(names)
	called := namer(call)
	short := func(b []byte) json.RawMessage {
		if b = called(readable(b)); len(b) == 0 || len(b) > maxShown {
			return json.RawMessage("null")
		}
		return b
	}
	list, values := []Past{}, map[string][]byte{}
	for _, e := range entries {
		p := Past{
			e.Seq, e.Change.ID, e.Change.Record, e.Change.Kind, Called(names, e.Change.Author),
			e.Change.Device, e.Change.Wall, nil,
		}
		for _, x := range e.Change.Set {
			one := PastSet{
				Field: x.Field, Value: short(x.Value), Bytes: len(x.Value), First: len(x.Sees) == 0,
				Before: json.RawMessage("null"),
			}
			for _, seen := range x.Sees {
				before := values[seen+" "+x.Field]
				one.Before = short(before)
				if one.Differs, err = o.differs(before, x.Value, short, call); err != nil {
					return nil, err
				}
			}
			if words, err := o.inWords(e.Change.Kind, x.Field, x.Value, names); err != nil {
				return nil, err
			} else if words != "" {
				one.Value, one.Bytes = inQuotes(words), len(words)
			}
			values[e.Change.ID+" "+x.Field] = x.Value
			p.Set = append(p.Set, one)
		}
		list = append(list, p)
	}
	return list, nil
}

// differs lists the members by which two values of a field differ, where both are objects or lists of
// objects; none where one is a plain value.
func (o *Office) differs(
	before, after []byte, short func([]byte) json.RawMessage, call func(string) string,
) ([]Differing, error) {
	was, err := opened(before)
	if err != nil {
		return nil, err
	}
	is, err := opened(after)
	if err != nil || !members(was) || !members(is) {
		return nil, err
	}
	var list []Differing
	err = membersDiffer("", was, is, func(field string, a, b any) error {
		name, _, _ := strings.Cut(field, ".")
		if field == "" || slices.Contains(silent, name) {
			return nil
		}
		x, err := json.Marshal(a)
		if err != nil {
			return err
		}
		y, err := json.Marshal(b)
		if err == nil && string(x) != string(y) {
			list = append(list, Differing{field, entriesNamed(field, was, is, call), short(x), short(y)})
		}
		return err
	})
	return list, err
}

// members reports whether a value is an object or a list of objects.
func members(v any) bool {
	_, is := v.(map[string]any)
	list, many := v.([]any)
	return is || many && objects(list)
}

// caller gives the names and tags of people and records by their ids, and any other text as it is.
func (o *Office) caller(names map[string]string) func(string) string {
	known := map[string]string{}
	return func(id string) string {
		if name, is := names[id]; is {
			return name
		}
		if len(id) != idLetters || !change.IsID(id) {
			return id
		}
		name, asked := known[id]
		if !asked {
			state, _, err := o.store.Record(id)
			if name = title(&state); err != nil || name == "" {
				name = id
			}
			known[id] = name
		}
		return name
	}
}

// namer writes what call gives in place of each text of a value.
func namer(call func(string) string) func(json.RawMessage) json.RawMessage {
	var write func(v any) any
	write = func(v any) any {
		switch x := v.(type) {
		case string:
			return call(x)
		case []any:
			for i := range x {
				x[i] = write(x[i])
			}
		case map[string]any:
			for n := range x {
				x[n] = write(x[n])
			}
		}
		return v
	}
	return func(b json.RawMessage) json.RawMessage {
		v, err := opened(b)
		if err != nil || v == nil {
			return b
		}
		out, err := json.Marshal(write(v))
		if err != nil { // it was JSON
			return b
		}
		return out
	}
}

func inQuotes(text string) json.RawMessage {
	b, err := json.Marshal(text)
	if err != nil { // texts always marshal
		return json.RawMessage("null")
	}
	return b
}

// idLetters is the length of an id.
const idLetters = 26

// silent are members that tell people nothing even if they differ.
var silent = []string{"covers", "of", "content", "proof", "office", "strokes", "sha256", "leaf", "rest", "snapshot", "id"}

// untold are the members of values that tell people nothing: ids of changes, hashes, signatures by
// keys, strokes and intermediate results.
var untold = []string{
	"covers", "of", "content", "proof", "office", "strokes", "calc", "readings", "points", "gauge", "results", "worst",
	"steps", "warnings", "instrument", "id", "sha256", "series", "snapshot", "definition", "particulars", "limit",
	"leaf", "rest", "now", "values", "leak", "trace", "sheet",
}

// readable keeps the parts of a value that tell people something. A list of objects becomes their
// number.
func readable(b []byte) json.RawMessage {
	var members map[string]json.RawMessage
	if json.Unmarshal(b, &members) != nil {
		var list []json.RawMessage
		if len(b) > maxShown && json.Unmarshal(b, &list) == nil {
			return json.RawMessage(strconv.Itoa(len(list)))
		}
		return b
	}
	for name, v := range members {
		if slices.Contains(untold, name) {
			delete(members, name)
		} else if len(v) > 0 && (v[0] == '{' || v[0] == '[') {
			members[name] = readable(v)
		}
	}
	out, err := json.Marshal(members)
	if err != nil { // they are JSON
		return b
	}
	return out
}

// History lists the changes of a record, oldest first.
func (o *Office) History(id string) ([]Past, error) {
	if _, err := o.Record(id); err != nil {
		return nil, err
	}
	names, err := o.Names()
	if err != nil {
		return nil, err
	}
	return o.past(names, id)
}
