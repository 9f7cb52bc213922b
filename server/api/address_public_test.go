package api_test

import (
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"

	"gaugewright/server/api"
)

// TestLinksAreOfThePublicAddress checks that a label's link leads to the server's configured
// address, whatever host a request names.
func TestLinksAreOfThePublicAddress(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	one := f.make("instrument", "", set("tag", "PI-1"), set("serial", "1"), set("label", "PI-0001"))
	page := fstest.MapFS{"index.html": {Data: []byte("page")}}
	svg := func(public string) string {
		p.handler = api.New(api.Deps{
			Store: p.store, Keeper: p.keeper, Now: p.clock, Client: page, PublicURL: public,
		})
		r := httptest.NewRequest("GET", "/api/labels/"+one.ID+".svg", nil)
		r.Host = "evil.example"
		r.Header.Set("Authorization", "Bearer "+p.tokens["reviewer"])
		a := p.send(r)
		if a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return string(a.body)
	}
	given, other := svg("https://gauges.example.org"), svg("https://gauges.example.org/")
	if given == svg("") || given != other || strings.Contains(given, "evil.example") {
		t.Error(given)
	}
}
