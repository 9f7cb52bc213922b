package office

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"strings"
	"unicode/utf8"

	"gaugewright/calc/document"
	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// longestSerial is how many characters a serial number may have.
const longestSerial = 100

// Mounted is the instrument now mounted at a place. A field that is "" is taken from the one
// before.
type Mounted struct {
	Serial       string `json:"serial"`
	Manufacturer string `json:"manufacturer"`
	Model        string `json:"model"`
}

// ofObject are the fields that instruments of the same make share.
var ofObject = []string{
	"kind", "manufacturer", "model", "range", "resolution", "limit", "output", "repeatability_percent",
	"temperature_coefficient_percent_per_k", "reference_temperature_c", "overload",
	"particulars", "due",
}

// Exchange puts another instrument in the place of one. The tag and what belongs to the place go to
// the new one; the old one goes out of service and keeps its visits. If an instrument with the new
// serial number is known and out of service, it is used with its own history.
//
// Gives:   the id of the instrument now mounted there.
// Refuses: plant.ErrNotFound, plant.ErrKind; a Fault that names the serial number.
func (o *Office) Exchange(ctx context.Context, user, id string, now Mounted) (mounted string, err error) {
	now.Serial = strings.TrimSpace(now.Serial)
	if register.Same(now.Serial) == "" || utf8.RuneCountInString(now.Serial) > longestSerial {
		return "", document.Refuse(
			document.CodeMissing, "serial", "the serial number of the other one is needed",
		)
	}
	err = o.writer.WriteIf(ctx, user, func(drafter *plant.Drafter) ([]change.Change, error) {
		state, err := o.Record(id)
		if err != nil {
			return nil, err
		}
		old, err := plant.ReadInstrument(state)
		if err != nil {
			return nil, err
		}
		if register.Same(old.Serial) == register.Same(now.Serial) {
			return nil, document.Refuse(
				document.CodeConflict, "serial", "this is the one that hangs there",
			)
		}
		other, err := o.spare(now.Serial)
		if err != nil {
			return nil, err
		}
		gone, _, err := drafter.Edit(state, o.now(), register.Replaced(&state)...)
		if err != nil {
			return nil, err
		}
		set := []plant.Set{{Field: "tag", Value: old.Tag}, {Field: "status", Value: InService}}
		if other != nil {
			here, next, err := drafter.Edit(*other, o.now(), register.TakenOver(set, &state)...)
			mounted = next.ID
			return []change.Change{gone, here}, err
		}
		label, err := change.NewID(rand.Reader)
		if err != nil {
			return nil, err
		}
		const labelLength = 10 // as of an import
		set = append(
			set, plant.Set{Field: "serial", Value: now.Serial},
			plant.Set{Field: "label", Value: label[:labelLength]},
		)
		given := map[string]string{"manufacturer": now.Manufacturer, "model": now.Model}
		for _, name := range ofObject {
			if text := strings.TrimSpace(given[name]); text != "" {
				set = append(set, plant.Set{Field: name, Value: text})
			} else if b, ok := state.Value(name); ok && string(b) != "null" {
				set = append(set, plant.Set{Field: name, Value: json.RawMessage(b)})
			}
		}
		fresh, next, err := drafter.New("instrument", state.Site, "", o.now(), register.TakenOver(set, &state)...)
		mounted = next.ID
		return []change.Change{gone, fresh}, err
	}, asSeen)
	return mounted, err
}

// spare finds the instrument with a serial number, which must be out of service; nil if there is
// none.
func (o *Office) spare(serial string) (*merge.State, error) {
	all, err := o.store.ByKind("instrument", "", 0)
	if err != nil {
		return nil, err
	}
	var found *merge.State
	for i := range all {
		v, err := plant.ReadInstrument(all[i])
		if Unreadable(err) || register.Same(v.Serial) != register.Same(serial) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if v.Status == InService || v.Status == "" {
			return nil, document.Refuse(
				document.CodeConflict, "serial", "the one with this serial number is in service at "+v.Tag,
			)
		}
		if found != nil {
			return nil, document.Refuse(
				document.CodeConflict, "serial", "several have this serial number",
			)
		}
		found = &all[i]
	}
	return found, nil
}
