package plant

import (
	"encoding/json"
	"slices"

	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// personal names, by the kind of a record and the word of its field, the members of its values that
// show or name a person and that nothing of the work hangs on; of a text no members, it goes as a
// whole.
var personal = map[string]map[string][]string{
	"visit": {
		"signature": {"name", "strokes"},
		"photo":     {"caption"},
		"remark":    {"text"},
	},
	"person": {"name": {}, "initials": {}, "function": {}},
}

// Personal returns the members of a field's values that may be erased, none for a text that may go
// as a whole; ok is false for a field of which nothing may be erased.
func Personal(kind, field string) (members []string, ok bool) {
	members, ok = personal[kind][word(field)]
	return members, ok
}

// erasureOf returns what a record says was erased of one of its changes, where the office's key
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

// before returns the digest of a value as it was before something was erased of it, where the
// office's key says so of what is left; "" for a value of which nothing was.
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
		return "", nil // it is not what the office signed
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

// Attests says whether the office's key says that something made of a record's values has this hash
// now, since some of them were erased: the content of a signature or an approval by the id of its
// change, the record of a certificate by its id.
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
