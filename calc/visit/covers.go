package visit

import (
	"slices"
	"strings"
)

// office names the fields of a visit that the office's own decisions write and nobody else.
var office = []string{"approval", "returned", "reopened", "check", "late", "seen", "erased"}

// OfficeField says whether a field of a visit is written by the office's own decisions only.
func OfficeField(field string) bool {
	word, _, _ := strings.Cut(field, ".")
	return slices.Contains(office, word)
}

// Signs says whether a signature covers a field of a visit: every one but the signature itself and
// what the office adds.
func Signs(field string) bool { return field != "signature" && !OfficeField(field) }

// Written is a field with every change of it that came, those that were replaced too.
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
	var all []*string // sorted as pointers, of which the phone's module sorts others
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

// Covers lists every change that a signature or an approval of a visit stands for, sorted: those of
// the visit's fields that a signature covers and all of its runs.
func Covers(visit []Written, runs ...Written) []string {
	var signed []Written
	for _, f := range visit {
		if Signs(f.Name) {
			signed = append(signed, f)
		}
	}
	return Changes(append(signed, runs...)...)
}
