package visit

import (
	"slices"
	"strings"
)

// office names the fields of a visit that only the office's own decisions write.
var office = []string{"approval", "returned", "reopened", "check", "late", "seen", "erased"}

// OfficeField reports whether only the office's own decisions write a field of a visit.
func OfficeField(field string) bool {
	word, _, _ := strings.Cut(field, ".")
	return slices.Contains(office, word)
}

// Signs reports whether a signature covers a field of a visit: every field but the signature itself
// and those of the office.
func Signs(field string) bool { return field != "signature" && !OfficeField(field) }

// Written is a field with all its changes, including replaced ones.
type Written struct {
	Name    string
	Changes []string
}

// WrittenOf lists the fields of a record with their changes.
func WrittenOf(r *Record) []Written {
	list := make([]Written, 0, len(r.Fields))
	for i := range r.Fields {
		f := &r.Fields[i]
		one := Written{Name: f.Name, Changes: append([]string(nil), f.Replaced...)}
		for j := range f.Heads {
			one.Changes = append(one.Changes, f.Heads[j].Change)
		}
		list = append(list, one)
	}
	return list
}

// Changes lists every change of some fields once, sorted.
func Changes(fields ...Written) []string {
	var all []*string // sorted as pointers, because the phone's module already has a sort of pointers
	for i := range fields {
		for j := range fields[i].Changes {
			all = append(all, &fields[i].Changes[j])
		}
	}
	slices.SortStableFunc(all, func(a, b *string) int { return strings.Compare(*a, *b) })
	ids := []string{}
	for i, id := range all {
		if i == 0 || *id != *all[i-1] {
			ids = append(ids, *id)
		}
	}
	return ids
}

// Covers lists, sorted, every change that a signature or an approval of a visit covers: those of
// the visit's covered fields and all of its runs.
func Covers(visit []Written, runs ...Written) []string {
	var signed []Written
	for _, f := range visit {
		if Signs(f.Name) {
			signed = append(signed, f)
		}
	}
	return Changes(append(signed, runs...)...)
}
