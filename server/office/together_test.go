package office_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/server/office"
	"gaugewright/server/plant"
)

// TestManifoldIsNamed checks that the office sees which gauges shared a manifold, in the order in
// which they were read, and that the visit of one has not arrived.
func TestManifoldIsNamed(t *testing.T) {
	p := newPlace(t)
	first, second := p.visit("PI-1"), p.visit("PI-2")
	ids := []string{second, first, "n0tarrived"}
	for _, id := range []string{first, second} {
		state, ok, err := p.store.Record(id)
		if err != nil || !ok {
			t.Fatal(ok, err)
		}
		p.keep(p.phone.Edit(state, p.now, set("manifold", doc{"visits": ids, "high": "10", "unit": "bar"})))
	}
	view, err := p.office.View(t.Context(), reviewer, first)
	if err != nil {
		t.Fatal(err)
	}
	want := []office.Beside{
		{Visit: second, Tag: "PI-2", Status: plant.Signed}, {Visit: first, Tag: "PI-1", Status: plant.Signed},
		{Visit: "n0tarrived"},
	}
	if diff := cmp.Diff(want, view.Together); diff != "" {
		t.Error(diff)
	}
}
