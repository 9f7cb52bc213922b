package register

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"unicode"

	"gaugewright/calc/document"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// Same returns a tag or a serial number in the form for comparing: without case, and without
// punctuation except between two digits, where 1-10 and 11-0 differ.
func Same(text string) string {
	var b strings.Builder
	gap, last := false, rune(0)
	for _, r := range strings.ToLower(text) {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			gap = true
			continue
		}
		if gap && unicode.IsDigit(last) && unicode.IsDigit(r) {
			b.WriteByte('-')
		}
		b.WriteRune(r)
		gap, last = false, r
	}
	return b.String()
}

// Difference is a field of an instrument with its present value and the file's.
type Difference struct {
	Field  string          `json:"field"`
	Before json.RawMessage `json:"before"`
	After  json.RawMessage `json:"after"`
}

// equal reports whether two values mean the same: 10 and 10.0 do.
func equal(a, b []byte) bool {
	if bytes.Equal(a, b) {
		return true
	}
	var x, y any
	if json.Unmarshal(a, &x) != nil || json.Unmarshal(b, &y) != nil {
		return false
	}
	return alike(x, y)
}

func alike(x, y any) bool {
	switch x := x.(type) {
	case map[string]any:
		y, ok := y.(map[string]any)
		if !ok || len(x) != len(y) {
			return false
		}
		for k := range x {
			if !alike(x[k], y[k]) {
				return false
			}
		}
		return true
	case []any:
		y, ok := y.([]any)
		return ok && slices.EqualFunc(x, y, alike)
	case string:
		y, ok := y.(string)
		return ok && (x == y || document.IsDecimal(x) && document.IsDecimal(y) && exact(x).Cmp(exact(y)) == 0)
	}
	return x == y
}

// cellsOf are the columns that make up a field of the record, if they have other names.
var cellsOf = map[string][]string{
	"range": {"range", "low", "high", "unit", "mode"}, "limit": {"class", "grade", "percent", "stop_pin"},
	"particulars": {
		"volume", "weakest", "weakest_part", "contact", "set_point", "acts", "set_tolerance", "dead_band",
		"safe_side", "safety_function", "contact_2", "set_point_2", "acts_2", "set_tolerance_2",
		"dead_band_2", "safe_side_2", "safety_function_2", "marked", "requested", "lot", "lot_size",
		"material", "coincident_temperature",
	},
}

// says reports whether the file has anything for a field of the record; a value for empty cells
// changes nothing that exists.
func (row *Row) says(field string) bool {
	cells := cellsOf[field]
	if cells == nil {
		cells = []string{field}
	}
	return slices.ContainsFunc(cells, func(c string) bool { return row.text[c] != "" && !row.given[c] })
}

// update compares a row with its instrument; what the file does not have stays.
func (row *Row) update(s merge.State) error {
	row.here = &s
	row.forgive(func(p Problem) (keep, lost bool) {
		if p.Code != Missing || p.Field == "tag" {
			return true, false
		}
		field := map[string]string{"unit": "range", "high": "range", "class": "limit"}[p.Field]
		if field == "" {
			field = p.Field
		}
		_, has := s.Value(field)
		return !has || row.says(field), has
	})
	var set []plant.Set
	for _, x := range row.set {
		if x.Field == "tag" && !row.moves || !row.says(x.Field) {
			continue
		}
		after, err := plant.Canonical(x.Value)
		if err != nil {
			return err
		}
		before, ok := s.Value(x.Field)
		if !ok {
			before = []byte("null")
		}
		var old string
		if x.Field == "serial" && json.Unmarshal(before, &old) == nil && old != "" &&
			Same(old) == Same(row.text["serial"]) {
			continue
		}
		if equal(before, after) {
			continue
		}
		set = append(set, x)
		row.Changes = append(row.Changes, Difference{x.Field, before, after})
	}
	row.set = set
	return nil
}

// present are the instruments here, by what they are compared by.
type present struct {
	byTag, bySerial map[string][]merge.State
}

func instrumentsOf(src plant.Source) (k present, err error) {
	k = present{map[string][]merge.State{}, map[string][]merge.State{}}
	all, err := src.ByKind("instrument", "", 0)
	if err != nil {
		return k, err
	}
	for _, s := range all {
		for name, by := range map[string]map[string][]merge.State{"tag": k.byTag, "serial": k.bySerial} {
			if key := Same(textOf(&s, name)); key != "" {
				by[key] = append(by[key], s)
			}
		}
	}
	return k, nil
}

func textOf(s *merge.State, field string) (text string) {
	b, ok := s.Value(field)
	if !ok || json.Unmarshal(b, &text) != nil {
		return ""
	}
	return text
}

// shortSerial is the minimum length at which a serial number identifies an instrument.
const shortSerial = 4

// meet finds the instrument of a row, if it exists here.
func (row *Row) meet(k present, o *Options) error {
	if row.Tag == "" {
		return nil
	}
	found := k.byTag[Same(row.Tag)]
	serial := row.text["serial"]
	switch {
	case len(found) > 0 && !o.Update:
		row.fault(Here, "tag", "an instrument with the tag %s is here already", textOf(&found[0], "tag"))
		return nil
	case len(found) > 1:
		row.fault(Several, "tag", "%d instruments here have the tag %s", len(found), row.Tag)
		return nil
	case len(found) == 1:
		old := textOf(&found[0], "serial")
		if serial == "" || old == "" || Same(serial) == Same(old) {
			return row.update(found[0])
		}
		switch o.Serials {
		case "correct":
			return row.update(found[0])
		case "exchange":
			row.replaces = &found[0]
		default:
			row.bad(
				Serial, "serial", "%s: %s is here with the serial number %s, the file has %s",
				row.column("serial"), row.Tag, old, serial,
			)
		}
		return nil
	}
	there := k.bySerial[Same(serial)]
	if len(Same(serial)) < shortSerial || len(there) != 1 || row.otherMaker(&there[0]) {
		return nil
	}
	switch at := textOf(&there[0], "tag"); {
	case !o.Update || o.Moved == "new":
	case o.Moved == "move":
		row.moves = true
		return row.update(there[0])
	default:
		row.bad(
			Moved, "tag", "%s: the serial number %s is here under the tag %s", row.column("tag"), serial, at,
		)
	}
	return nil
}

// otherMaker reports whether a serial number is that of another maker.
func (row *Row) otherMaker(s *merge.State) bool {
	mine, its := letters(row.text["manufacturer"]), letters(textOf(s, "manufacturer"))
	return mine != "" && its != "" && mine != its
}

// Replaced returns the changes to an instrument that another one replaces. Its visits stay with it,
// since they are of this object; the tag goes to the other one.
func Replaced(s *merge.State) []plant.Set {
	was := textOf(s, "tag")
	if serial := textOf(s, "serial"); serial != "" {
		was += " (" + serial + ")"
	} else {
		was += " (" + s.ID[:4] + ")"
	}
	return []plant.Set{{Field: "tag", Value: was}, {Field: "status", Value: "out of service"}}
}

// ofPlace are the fields that belong to a place, and go over to its next instrument.
var ofPlace = []string{
	"description", "area", "place", "medium", "setting", "connection", "cautions", "customer", "language",
	"method", "interval_months",
}

// TakenOver adds to the fields of an instrument those of the place it is put in.
func TakenOver(set []plant.Set, from *merge.State) []plant.Set {
	for _, name := range ofPlace {
		has := slices.ContainsFunc(set, func(x plant.Set) bool { return x.Field == name })
		if b, ok := from.Value(name); ok && !has && string(b) != "null" {
			set = append(set, plant.Set{Field: name, Value: json.RawMessage(b)})
		}
	}
	return set
}
