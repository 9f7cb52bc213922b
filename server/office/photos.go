package office

import (
	"encoding/json"
	"strings"
)

// ShowsPhoto reports whether a blob is a photo of a visit, whatever else it is.
func (o *Office) ShowsPhoto(visit, blob string) (bool, error) {
	fields, err := o.PhotoFields(visit, blob)
	return len(fields) > 0, err
}

// PhotoFields returns the fields of a visit that name a blob as a photo.
func (o *Office) PhotoFields(visit, blob string) (fields []string, err error) {
	state, there, err := o.store.Record(visit)
	if err != nil || !there || state.Kind != "visit" {
		return nil, err
	}
	for i := range state.Fields {
		f := &state.Fields[i]
		for _, h := range f.Heads {
			var photo struct{ SHA256 string }
			if strings.HasPrefix(f.Name, "photo.") && json.Unmarshal(h.Value, &photo) == nil && photo.SHA256 == blob {
				fields = append(fields, f.Name)
				break
			}
		}
	}
	return fields, nil
}
