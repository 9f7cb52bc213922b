package machine_test

import (
	"encoding/json"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/server/machine"
	"gaugewright/server/plant"
)

// items asks for all of a list and gives the ids and, where those stand, numbers and tags in it.
func (p *site) items(secret, path string) (ids []string) {
	p.t.Helper()
	for next := ""; ; {
		res, said := p.ask(secret, "GET", path+"limit=200"+next, "")
		if res.StatusCode != 200 {
			p.t.Fatalf("%s: %+v", path, said)
		}
		b, err := io.ReadAll(res.Body)
		if err != nil {
			p.t.Fatal(err)
		}
		var page struct {
			Items []struct{ ID, Instrument, Number string }
			Next  string
		}
		if err := json.Unmarshal(b, &page); err != nil {
			p.t.Fatal(err)
		}
		for _, one := range page.Items {
			switch {
			case one.ID != "":
				ids = append(ids, one.ID)
			case one.Instrument != "":
				ids = append(ids, one.Instrument)
			default:
				ids = append(ids, one.Number)
			}
		}
		if page.Next == "" {
			return ids
		}
		next = "&cursor=" + page.Next
	}
}

// siteOf gives the site of a record.
func (p *site) siteOf(id string) string {
	p.t.Helper()
	s, err := p.office.Record(id)
	if err != nil {
		p.t.Fatal(err)
	}
	return s.Site
}

// limited makes a token with all scopes at a site.
func (p *site) limited(site string) string {
	p.t.Helper()
	_, secret, err := p.tokens.Make(
		"of one site", machine.Scopes, []string{site}, p.now.AddDate(0, 1, 0), "", noted("token_made"),
	)
	if err != nil {
		p.t.Fatal(err)
	}
	return secret
}

// TestTokenOfASite: a token of a site is given what the whole plant's is given of that site, neither
// more nor less, in each list and under each address; nothing of another site is there for it.
func TestTokenOfASite(t *testing.T) {
	p := newSite(t)
	sites, err := plant.All(p.store, "site", plant.ReadSite)
	if err != nil {
		t.Fatal(err)
	}
	own := sites[0].ID
	secret := p.limited(own)
	for _, list := range []struct{ path, one string }{
		{"/instruments?", "/instruments/"}, {"/due?by=2030-01-01&", "/instruments/"}, {"/visits?", "/visits/"},
		{"/certificates?", "/certificates/"}, {"/standards?", "/standards/"},
	} {
		all, some := p.items(p.secret, list.path), p.items(secret, list.path)
		want := slices.DeleteFunc(slices.Clone(all), func(id string) bool {
			at := p.siteOf(id)
			return at != own && (at != "" || list.one != "/standards/")
		})
		if !slices.Equal(some, want) {
			t.Errorf("%s gives %d, want %d of %d", list.path, len(some), len(want), len(all))
		}
		if list.one != "/standards/" && (len(want) == 0 || len(want) == len(all)) {
			t.Errorf("%s: %d of %d show nothing", list.path, len(want), len(all))
		}
		p.now = p.now.Add(10 * time.Second) // the pace
		tails := []string{""}
		if list.one == "/certificates/" {
			tails = []string{"", "/pdf", "/xml"}
		}
		other := slices.IndexFunc(all, func(id string) bool { return !slices.Contains(want, id) })
		for _, tail := range tails {
			if len(want) > 0 {
				if res, said := p.ask(secret, "GET", list.one+want[0]+tail, ""); res.StatusCode != 200 {
					t.Errorf("%s%s: %+v", list.one, tail, said)
				}
			}
			if other < 0 {
				continue
			}
			absent := strings.Repeat("0", len(all[other]))
			_, none := p.ask(secret, "GET", list.one+absent+tail, "")
			_, said := p.ask(secret, "GET", list.one+all[other]+tail, "")
			if none.Detail = strings.ReplaceAll(none.Detail, absent, all[other]); said != none || said.Code != "not_found" {
				t.Errorf("%s%s of another site: %+v, and of none %+v", list.one, tail, said, none)
			}
		}
	}
	res, _ := p.ask(secret, "GET", "/about", "")
	var about machine.About
	if err := json.NewDecoder(res.Body).Decode(&about); err != nil || len(about.Sites) != 1 ||
		about.Sites[0].Code != sites[0].Code {
		t.Errorf("%+v %v", about, err)
	}
	for _, wrong := range []string{"", "n0where", p.items(p.secret, "/instruments?")[0]} {
		_, _, err := p.tokens.Make("x", machine.Scopes, []string{wrong}, p.now.AddDate(0, 1, 0), "", noted("x"))
		if err == nil || !strings.Contains(err.Error(), "site") {
			t.Errorf("%q is taken for a site: %v", wrong, err)
		}
	}
}

// TestOrdersOfASite: a token of a site orders work there only, sees the part of an order that is
// there, and changes no order that reaches further.
func TestOrdersOfASite(t *testing.T) {
	p := newSite(t)
	byScope := map[string][]string{} // tags by site
	rows := p.items(p.secret, "/due?by=2030-01-01&")
	var own, other string
	for _, id := range rows {
		v, err := plant.LoadInstrument(p.store, id)
		if err != nil {
			t.Fatal(err)
		}
		byScope[v.Site] = append(byScope[v.Site], v.Tag)
	}
	for site := range byScope {
		if own == "" {
			own = site
		} else if other == "" {
			other = site
		}
	}
	mine, theirs, secret := byScope[own][0], byScope[other][0], p.limited(own)
	order := func(number string, tags ...string) string {
		b, err := json.Marshal(object{"number": number, "tags": tags})
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	for _, tt := range []struct {
		secret, method, path, body string
		status                     int
		code, field                string
	}{
		{p.secret, "POST", "/orders", order("A", mine), 201, "", ""},
		{p.secret, "POST", "/orders", order("B", theirs), 201, "", ""},
		{p.secret, "POST", "/orders", order("C", mine, theirs), 201, "", ""},
		{secret, "POST", "/orders", order("D", mine, theirs), 400, "range", "tags[1]"},
		{secret, "POST", "/orders", order("D", mine), 201, "", ""},
		{secret, "GET", "/orders/A", "", 200, "", ""},
		{secret, "GET", "/orders/B", "", 404, "not_found", ""},
		{secret, "PUT", "/orders/A", order("A", mine), 200, "", ""},
		{secret, "PUT", "/orders/B", order("B", mine), 409, "exists", ""},
		{secret, "PUT", "/orders/C", order("C", mine), 403, "site", ""},
		{secret, "POST", "/orders", order("B", mine), 409, "exists", ""},
		{secret, "DELETE", "/orders/B", "", 404, "not_found", ""},
		{secret, "DELETE", "/orders/C", "", 403, "site", ""},
		{secret, "DELETE", "/orders/D", "", 204, "", ""},
	} {
		res, said := p.ask(tt.secret, tt.method, tt.path, tt.body)
		if res.StatusCode != tt.status || said.Code != tt.code || said.Field != tt.field {
			t.Errorf("%s %s %s: %d %+v", tt.method, tt.path, tt.body, res.StatusCode, said)
		}
	}
	for of, want := range map[string][]string{p.secret: {"A", "B", "C", "D"}, secret: {"A", "C", "D"}} {
		if got := p.items(of, "/orders?"); !slices.Equal(got, want) {
			t.Errorf("%v, want %v", got, want)
		}
	}
	res, _ := p.ask(secret, "GET", "/orders/C", "")
	var c machine.Order
	if err := json.NewDecoder(res.Body).Decode(&c); err != nil || len(c.Work) != 1 || c.Work[0].Tag != mine {
		t.Errorf("%+v %v", c, err)
	}
	if w, err := p.office.Order("B"); err != nil || w.Withdrawn != "" || len(w.Instruments) != 1 {
		t.Errorf("%+v %v", w, err)
	}
}
