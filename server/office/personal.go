package office

import (
	"encoding/json"
	"strings"

	"gaugewright/server/plant"
)

// PersonalValue is a field of a visit or of a person that shows or names a person and can be
// erased.
type PersonalValue struct {
	Field   string   `json:"field"`
	What    string   `json:"what"`    // signature, photo or remark; name, initials or function
	Members []string `json:"members"` // what erasing removes; for a photo the picture as well
	Text    string   `json:"text"`    // the present name, caption or remark
	Blob    string   `json:"blob"`    // the picture, by its hash; "" for none
	By      string   `json:"by"`      // who wrote it last
	At      string   `json:"at"`      // when, by the clock of that device
	Changes int      `json:"changes"` // how many changes in the journal have any of it
}

// Personal lists what in a record shows or names a person and is not erased yet.
//
// Refuses: plant.ErrNotFound; plant.ErrKind for a record of another kind.
func (o *Office) Personal(record, kind string) ([]PersonalValue, error) {
	state, err := o.Record(record)
	if err != nil {
		return nil, err
	}
	if state.Kind != kind {
		return nil, plant.ErrKind
	}
	entries, err := o.store.History(record)
	if err != nil {
		return nil, err
	}
	names, err := o.Names()
	if err != nil {
		return nil, err
	}
	list := []PersonalValue{}
	for i := range state.Fields {
		f := &state.Fields[i]
		members, ok := plant.Personal(kind, f.Name)
		if !ok {
			continue
		}
		one := PersonalValue{Field: f.Name, Members: members}
		one.What, _, _ = strings.Cut(f.Name, ".")
		for k := range entries {
			erasable, blobs, err := erasedOf(&entries[k].Change, []string{f.Name})
			if err != nil {
				return nil, err
			}
			if len(erasable) == 0 {
				continue
			}
			c := &entries[k].Change
			one.Changes++
			one.By, one.At = Called(names, c.Author), c.Wall
			if len(blobs) > 0 {
				one.Blob = blobs[0]
			}
			value, _ := settingOf(c, f.Name)
			var shown map[string]json.RawMessage
			if len(members) == 0 {
				one.Text = textOf(value)
			} else if json.Unmarshal(value, &shown) == nil {
				one.Text = textOf(shown[members[0]])
			}
		}
		if one.Changes > 0 {
			list = append(list, one)
		}
	}
	return list, nil
}
