package office_test

import (
	"encoding/json"
	"errors"
	"slices"
	"testing"

	"gaugewright/calc/document"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"

	"github.com/google/go-cmp/cmp"
)

// has checks the present value of a field of an instrument.
func (p *place) has(id, field, want string) {
	p.t.Helper()
	state, err := p.office.Record(id)
	if err != nil {
		p.t.Fatal(err)
	}
	if b, _ := state.Value(field); string(b) != want && (want != "null" || b != nil) {
		p.t.Errorf("%s of %s is %s, want %s", field, id, b, want)
	}
}

func (p *place) byTag(tag string) string {
	p.t.Helper()
	found, err := p.store.Lookup("instrument", "tag", tag)
	if err != nil || len(found) != 1 {
		p.t.Fatal(tag, len(found), err)
	}
	return found[0].ID
}

func of[T any](v T) *T { return &v }

// TestBulkLanguage: the language of certificates is given to many and taken away; one in which no
// certificate can be is refused by its name.
func TestBulkLanguage(t *testing.T) {
	p, first := register(t)
	ids := []string{first, p.byTag("PI-10")}
	for _, step := range []struct{ give, has string }{{"de", `"de"`}, {"", "null"}} {
		v := office.Values{Language: of(step.give)}
		shown, err := p.office.PreviewBulk(ids, v)
		if err != nil || len(shown.Rows) != 2 {
			t.Fatalf("%q: %+v %v", step.give, shown, err)
		}
		if _, err := p.office.ChangeBulk(t.Context(), reviewer, ids, v, shown.Shown); err != nil {
			t.Fatal(err)
		}
		p.has(first, "language", step.has)
	}
	var fault *document.Fault
	if _, err := p.office.PreviewBulk(ids, office.Values{Language: of("fr")}); !errors.As(err, &fault) || fault.Field != "language" {
		t.Error(err)
	}
}

// TestBulk: what is shown is done, in one piece, and undone in one piece; what came in between is
// kept.
func TestBulk(t *testing.T) {
	p, first := register(t)
	ten, out := p.byTag("PI-10"), p.byTag("PI-3")
	ids := []string{first, ten, out}
	v := office.Values{IntervalMonths: of(24), Area: of("Mill"), Due: of(""), Status: of("in service")}
	shown, err := p.office.PreviewBulk(ids, v)
	if err != nil || len(shown.Rows) != 3 || len(shown.Refused) != 0 {
		t.Fatalf("%+v %v", shown, err)
	}
	want := []office.Differing{
		{Field: "interval_months", Before: json.RawMessage("null"), After: json.RawMessage("24")},
		{Field: "area", Before: json.RawMessage(`"Boiler house"`), After: json.RawMessage(`"Mill"`)},
		{Field: "due", Before: json.RawMessage(`"2026-02-01"`), After: json.RawMessage("null")},
	}
	if diff := cmp.Diff(want, shown.Rows[0].Fields); diff != "" {
		t.Error(diff)
	}
	p.has(first, "area", `"Boiler house"`) // looking changes nothing
	before, err := p.store.Last()
	if err != nil {
		t.Fatal(err)
	}
	done, err := p.office.ChangeBulk(t.Context(), reviewer, ids, v, shown.Shown)
	if err != nil || done.Count != 3 {
		t.Fatal(done, err)
	}
	written, _, err := p.store.Since(before, 100, func(c *change.Change) bool { return c.Kind == "instrument" })
	if err != nil || len(written) != 3 {
		t.Errorf("%d changes for 3 instruments, %v", len(written), err)
	}
	p.has(first, "area", `"Mill"`)
	p.has(out, "status", `"in service"`)
	p.has(ten, "due", "null")
	state, err := p.office.Record(ten)
	if err != nil {
		t.Fatal(err)
	}
	p.keep(p.phone.Edit(state, p.now, set("area", "Weir"))) // somebody changes one of them meanwhile
	list, err := p.office.Bulks()
	if err != nil || len(list) != 1 || list[0].ID != done.ID || list[0].By != reviewer || list[0].Undone != "" {
		t.Fatalf("%+v %v", list, err)
	}
	n, kept, err := p.office.UndoBulk(t.Context(), reviewer, done.ID)
	if err != nil || n != 3 || len(kept) != 1 || kept[0].Tag != "PI-10" {
		t.Fatal(n, kept, err)
	}
	p.has(first, "area", `"Boiler house"`)
	p.has(first, "due", `"2026-02-01"`)
	p.has(first, "interval_months", "null")
	p.has(out, "status", `"out of service"`)
	p.has(ten, "area", `"Weir"`)
	p.has(ten, "due", `"2026-03-04"`)
	if _, _, err := p.office.UndoBulk(t.Context(), reviewer, done.ID); !errors.Is(err, office.ErrUndone) {
		t.Error(err)
	}
	if _, _, err := p.office.UndoBulk(t.Context(), reviewer, "nothing"); !errors.Is(err, plant.ErrNotFound) {
		t.Error(err)
	}
}

// TestBulkIsAsShown checks that nothing is written if something changed since the preview.
func TestBulkIsAsShown(t *testing.T) {
	p, first := register(t)
	ids := []string{first, p.byTag("PI-11")}
	v := office.Values{Area: of("Mill")}
	shown, err := p.office.PreviewBulk(ids, v)
	if err != nil {
		t.Fatal(err)
	}
	state, err := p.office.Record(first)
	if err != nil {
		t.Fatal(err)
	}
	p.keep(p.phone.Edit(state, p.now, set("area", "Weir")))
	if _, err := p.office.ChangeBulk(t.Context(), reviewer, ids, v, shown.Shown); !errors.Is(err, office.ErrStale) {
		t.Error(err)
	}
	p.has(first, "area", `"Weir"`)
	p.has(ids[1], "area", `"Jetty"`)
}

// TestBulkMethod checks that only instruments that fit a method are given it, and that the others
// are listed with the reason.
func TestBulkMethod(t *testing.T) {
	p, first := register(t)
	methods, err := p.store.ByKind("method", "", 0)
	if err != nil {
		t.Fatal(err)
	}
	state, err := p.office.Record(p.byTag("PT-1"))
	if err != nil {
		t.Fatal(err)
	}
	other := p.phone
	other.Device, other.Author = "0ther", technician
	p.keep(other.Edit(state, p.now, set("method", "left")))
	p.keep(p.phone.Edit(state, p.now, set("method", "right"))) // two edits, neither of which had seen the other
	ids := []string{first, p.byTag("PI-10"), p.byTag("AL-1"), p.byTag("PT-1"), p.byTag("PI-3"), "n0where"}
	got, err := p.office.PreviewBulk(ids, office.Values{Method: of(methods[0].ID)})
	if err != nil {
		t.Fatal(err)
	}
	if got.Same != 1 || len(got.Rows) != 2 || got.Rows[0].Tag != "PI-10" || got.Names[methods[0].ID] != "Five points" {
		t.Errorf("%+v", got)
	}
	var why []string
	for _, r := range got.Refused {
		why = append(why, r.Tag+": "+r.Why)
	}
	for _, want := range []string{
		"AL-1: it is of the kind altimeter, the method is for gauge",
		"PT-1: method: two people changed it without seeing each other; choose a value first",
		": it is not here",
	} {
		if !slices.Contains(why, want) {
			t.Errorf("%q is not in %q", want, why)
		}
	}
	if len(why) != 3 {
		t.Errorf("%q", why)
	}
}

func TestBulkRefuses(t *testing.T) {
	p, first := register(t)
	for field, v := range map[string]office.Values{
		"values": {}, "interval_months": {IntervalMonths: of(0)}, "status": {Status: of("gone")},
	} {
		var fault *document.Fault
		if _, err := p.office.PreviewBulk([]string{first}, v); !errors.As(err, &fault) || fault.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	if _, err := p.office.PreviewBulk([]string{first}, office.Values{Due: of("soon")}); !errors.Is(err, office.ErrDate) {
		t.Error(err)
	}
}
