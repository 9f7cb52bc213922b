package office

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
)

// Differs says where two findings differ in any bit of a number, or "". The version that made them
// may differ, its numbers may not.
func Differs(kept, again []byte) (string, error) {
	var documents [2]any
	var versions [2]any
	for i, b := range [][]byte{kept, again} {
		d := json.NewDecoder(bytes.NewReader(b))
		d.UseNumber()
		if err := d.Decode(&documents[i]); err != nil {
			return "", err
		}
		if o, ok := documents[i].(map[string]any); ok {
			versions[i] = o["calc"]
			delete(o, "calc")
		}
	}
	if versions[0] != versions[1] {
		documents[1] = known(documents[0], documents[1])
	}
	return difference("", documents[0], documents[1]), nil
}

// known removes from a JSON value the fields that an older one lacks, since a later version may add
// some.
func known(older, value any) any {
	switch o := older.(type) {
	case map[string]any:
		v, ok := value.(map[string]any)
		if !ok {
			break
		}
		for name := range v {
			if _, had := o[name]; !had {
				delete(v, name)
				continue
			}
			v[name] = known(o[name], v[name])
		}
	case []any:
		if v, ok := value.([]any); ok && len(v) == len(o) {
			for i := range v {
				v[i] = known(o[i], v[i])
			}
		}
	}
	return value
}

// difference names the first place, in the order of names, where two JSON values differ.
func difference(at string, kept, again any) string {
	switch k := kept.(type) {
	case map[string]any:
		a, ok := again.(map[string]any)
		if !ok {
			break
		}
		for _, name := range slices.Sorted(maps.Keys(k)) {
			if d := difference(at+"."+name, k[name], a[name]); d != "" {
				return d
			}
		}
		for _, name := range slices.Sorted(maps.Keys(a)) {
			if _, ok := k[name]; !ok && a[name] != nil {
				return difference(at+"."+name, nil, a[name])
			}
		}
		return ""
	case []any:
		a, ok := again.([]any)
		if !ok || len(a) != len(k) {
			break
		}
		for i := range k {
			if d := difference(at+"."+strconv.Itoa(i+1), k[i], a[i]); d != "" {
				return d
			}
		}
		return ""
	case json.Number:
		a, ok := again.(json.Number)
		if !ok {
			break
		}
		x, errX := k.Float64() // a phone may write the same number in other digits
		y, errY := a.Float64()
		if errX == nil && errY == nil && x == y {
			return ""
		}
	default:
		if reflect.DeepEqual(kept, again) {
			return ""
		}
	}
	return fmt.Sprintf("%s: recorded %s, calculated again %s", at[min(1, len(at)):], brief(kept), brief(again))
}

func brief(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return "?"
	}
	const most = 60
	if len(b) > most {
		return string(bytes.ToValidUTF8(b[:most], nil)) + " …"
	}
	return string(b)
}
