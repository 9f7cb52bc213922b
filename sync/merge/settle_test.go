package merge_test

import (
	"encoding/json"
	"slices"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"

	"pgregory.net/rapid"
)

// skeleton is a change as settle takes it: without its values, author and time.
func skeleton(c *change.Change) map[string]any {
	fields, sees := []string{}, map[string][]string{}
	for _, s := range c.Set {
		fields = append(fields, s.Field)
		if len(s.Sees) > 0 {
			sees[s.Field] = s.Sees
		}
	}
	m := map[string]any{
		"id": c.ID, "stamp": c.Stamp.String(), "record": c.Record, "kind": c.Kind, "site": c.Site,
		"parent": c.Parent, "fields": fields,
	}
	if len(sees) > 0 {
		m["sees"] = sees
	}
	return m
}

type settled struct {
	Records []struct {
		ID     string
		Fields map[string]struct{ Heads, Replaced []string }
	}
	Count int
	Error any
}

func settle(t interface{ Fatal(...any) }, records []any, changes []any) settled {
	doc, err := json.Marshal(map[string]any{"records": records, "changes": changes})
	if err != nil {
		t.Fatal(err)
	}
	var out settled
	if err := json.Unmarshal(merge.Call("settle", doc), &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// TestSettleIsMergeWithoutTheValues: heads in their order and replaced changes are those of a full
// merge, on a new record and on a known one.
func TestSettleIsMergeWithoutTheValues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := edits(t)
		cut := rapid.IntRange(0, len(all)-1).Draw(t, "known already")
		known := apply(t, merge.State{}, all[:cut]...)
		want := apply(t, known, all[cut:]...)
		records, changes := []any{}, []any{}
		if cut > 0 {
			fields := map[string]any{}
			for _, f := range known.Fields {
				heads := []any{}
				for _, h := range f.Heads {
					heads = append(heads, map[string]any{"change": h.Change, "stamp": h.Stamp.String()})
				}
				fields[f.Name] = map[string]any{"heads": heads, "replaced": append([]string{}, f.Replaced...)}
			}
			records = append(
				records,
				map[string]any{
					"id": known.ID, "kind": known.Kind, "site": known.Site, "parent": known.Parent, "fields": fields,
				},
			)
		}
		for i := range all[cut:] {
			changes = append(changes, skeleton(&all[cut+i]))
		}
		got := settle(t, records, changes)
		if got.Error != nil || len(got.Records) != 1 {
			t.Fatalf("%+v", got)
		}
		if len(got.Records[0].Fields) != len(want.Fields) {
			t.Fatalf("%d fields, want %d", len(got.Records[0].Fields), len(want.Fields))
		}
		for _, f := range want.Fields {
			heads := []string{}
			for _, h := range f.Heads {
				heads = append(heads, h.Change)
			}
			here := got.Records[0].Fields[f.Name]
			if !slices.Equal(here.Heads, heads) || !slices.Equal(here.Replaced, f.Replaced) {
				t.Fatalf("%s: %+v, want %v %v", f.Name, here, heads, f.Replaced)
			}
		}
	})
}

func TestSettleRefuses(t *testing.T) {
	good := func() map[string]any {
		return map[string]any{
			"id": "a", "stamp": "000000000001-000000000000-d", "record": "r", "kind": "visit", "site": "",
			"parent": "", "fields": []string{"note"},
		}
	}
	if got := settle(t, []any{}, []any{good()}); got.Error != nil || got.Count != 1 {
		t.Fatalf("%+v", got)
	}
	for _, spoil := range []func(map[string]any){
		func(m map[string]any) { m["stamp"] = "now" },
		func(m map[string]any) { delete(m, "record") },
		func(m map[string]any) { m["sees"] = map[string]any{"other": []string{"b"}} },
	} {
		m := good()
		spoil(m)
		if got := settle(t, []any{}, []any{m}); got.Error == nil {
			t.Errorf("%v was taken", m)
		}
	}
	other := good()
	other["id"], other["kind"] = "b", "run"
	if got := settle(t, []any{}, []any{good(), other}); got.Error == nil {
		t.Error("a record of two kinds was taken")
	}
}
