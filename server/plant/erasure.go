package plant

import (
	"encoding/json"
	"slices"

	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// personal lists, by the kind of a record and the word of its field, the members of its values that
// show or name a person and that no work depends on. A text has no members; it is erased as a
// whole.
var personal = map[string]map[string][]string{
	"visit": {
		"signature": {"name", "strokes"},
		"photo":     {"caption"},
		"remark":    {"text"},
	},
	"person": {"name": {}, "initials": {}, "function": {}},
}

// Personal returns the members of a field's values that may be erased, or none for a text, which is
// erased as a whole. ok is false for a field of which nothing may be erased.
func Personal(kind, field string) (members []string, ok bool) {
	members, ok = personal[kind][word(field)]
	return members, ok
}

// erasureOf returns what a record states was erased from one of its changes, if the office's key
// signed it.
func erasureOf(src Records, order Journal, state *merge.State, change string) (e store.Erasure, ok bool, err error) {
	f, there := state.Field(store.ErasureField(change))
	if !there || len(f.Heads) == 0 {
		return e, false, nil
	}
	h := &f.Heads[0]
	mark, err := MarkOf(src, order, Said{
		By: h.Author, Field: f.Name, Record: state.ID, Value: h.Value, Change: h.Change,
	}, statement.Office)
	if err != nil || mark != MarkGood || json.Unmarshal(h.Value, &e) != nil {
		return store.Erasure{}, false, err
	}
	return e, e.Change == change, nil
}

// before returns the digest of a value before something was erased from it, if the office's key
// confirms that for what is left; "" for a value from which nothing was erased.
func before(src Records, order Journal, said *Said) (string, error) {
	var in struct{ Erased string }
	if json.Unmarshal(said.Value, &in) != nil || in.Erased == "" {
		return "", nil
	}
	state, there, err := src.Record(said.Record)
	if err != nil || !there {
		return "", err
	}
	e, ok, err := erasureOf(src, order, &state, said.Change)
	if err != nil || !ok {
		return "", err
	}
	left, err := statement.Digest(said.Value)
	if err != nil {
		return "", nil // not what the office signed
	}
	may, _ := Personal(state.Kind, said.Field)
	for _, v := range e.Values {
		more := slices.ContainsFunc(v.Members, func(m string) bool { return !slices.Contains(may, m) })
		if v.Field == said.Field && v.Digest == in.Erased && v.Left == left && !more {
			return v.Digest, nil
		}
	}
	return "", nil
}

// Attests reports whether the office's key confirms that something made from a record's values now
// has this hash, because some values were erased: the content of a signature or an approval by the
// id of its change, the record of a certificate by its id.
func Attests(src Records, order Journal, record, of, hash string) (bool, error) {
	state, there, err := src.Record(record)
	if err != nil || !there {
		return false, err
	}
	for i := range state.Fields {
		change := merge.Erases(state.Fields[i].Name)
		if change == "" {
			continue
		}
		e, ok, err := erasureOf(src, order, &state, change)
		if err != nil {
			return false, err
		}
		if ok && e.Now[of] == hash {
			return true, nil
		}
	}
	return false, nil
}
