package office

import (
	"encoding/json"
	"slices"
	"strconv"
)

// Past is one change of a record, for people to read.
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

// PastSet is one field of a change of the past.
type PastSet struct {
	Field  string          `json:"field"`
	Value  json.RawMessage `json:"value"` // null where it is too long to be shown in a list
	Bytes  int             `json:"bytes"`
	Before json.RawMessage `json:"before"` // what the writer saw there; null where nothing was, or it is too long
	First  bool            `json:"first"`  // nothing was there before
}

// maxShown is the length of a value that a history shows; plans, findings and strokes are longer.
const maxShown = 400

func (o *Office) past(names map[string]string, record string) ([]Past, error) {
	entries, err := o.store.History(record)
	if err != nil {
		return nil, err
	}
	short := func(b []byte) json.RawMessage {
		if b = told(b); len(b) == 0 || len(b) > maxShown {
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
				one.Before = short(values[seen+" "+x.Field])
			}
			values[e.Change.ID+" "+x.Field] = x.Value
			p.Set = append(p.Set, one)
		}
		list = append(list, p)
	}
	return list, nil
}

// untold are the members of values that say nothing to people: ids of changes, hashes, signatures by
// keys, strokes and how something was worked out.
var untold = []string{
	"covers", "of", "content", "proof", "office", "strokes", "calc", "readings", "points", "gauge", "results", "worst",
	"steps", "warnings", "instrument", "id", "sha256", "series", "snapshot", "definition", "particulars", "limit",
	"leaf", "rest", "now", "values", "leak", "trace", "sheet",
}

// told leaves of a value what says something to people. Of a list of objects it leaves their
// number.
func told(b []byte) json.RawMessage {
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
			members[name] = told(v)
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
