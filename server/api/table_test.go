package api_test

import (
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// listed makes three instruments; the name of one would be a formula in a spreadsheet.
func listed(p *testPlant) {
	f := p.phone()
	for _, one := range []struct{ tag, area, low string }{{"PI-2", "Mill", "0"}, {"PI-10", "Mill", "-1"}, {"=1+1", "", "0"}} {
		f.make("instrument", "", set("tag", one.tag), set("area", one.area), set("kind", "gauge"), set("status", "in service"),
			set("range", doc{"low": one.low, "high": "10", "unit": "bar", "mode": "gauge"}))
	}
}

func TestTable(t *testing.T) {
	p := newPlant(t)
	listed(p)
	var got struct {
		Rows       []struct{ Tag string }
		Found, All int
		IDs        []string
		Values     map[string][]struct {
			Value string
			Count int
		}
	}
	a := p.do("reviewer", "GET", "/api/office/table?area=Mill&q=pi&sort=tag&down=1&most=1&ids=1", "")
	if err := json.Unmarshal(a.body, &got); a.status != 200 || err != nil {
		t.Fatalf("%d %s %v", a.status, a.body, err)
	}
	if len(got.Rows) != 1 || got.Rows[0].Tag != "PI-10" || got.Found != 2 || got.All != 3 || len(got.IDs) != 2 {
		t.Errorf("%s", a.body)
	}
	if len(got.Values["area"]) != 1 || got.Values["area"][0].Count != 2 {
		t.Errorf("%+v", got.Values)
	}
	for query, want := range map[string]string{
		"sort=colour": `"field":"sort"`, "from=-1": `"field":"from"`, "due=soon": `"range"`, "unit=ell&at_most=1": `"field":"unit"`,
	} {
		if a := p.do("reviewer", "GET", "/api/office/table?"+query, ""); a.status != 400 ||
			!strings.Contains(string(a.body), want) {
			t.Errorf("%s: %d %s", query, a.status, a.body)
		}
	}
	if a := p.do("technician", "GET", "/api/office/table", ""); a.status != 403 {
		t.Errorf("a technician: %d", a.status)
	}
}

// TestTableCSV checks that all rows of the query come with the columns asked for, and that no cell
// is a formula.
func TestTableCSV(t *testing.T) {
	p := newPlant(t)
	listed(p)
	a := p.do("reviewer", "GET", "/api/office/table.csv?columns=tag,range,area&most=1", "")
	rows, err := csv.NewReader(strings.NewReader(string(a.body))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{"tag", "low", "high", "unit", "mode", "area"},
		{"'=1+1", "0", "10", "bar", "gauge", ""},
		{"PI-2", "0", "10", "bar", "gauge", "Mill"},
		{"PI-10", "-1", "10", "bar", "gauge", "Mill"},
	}
	if diff := cmp.Diff(want, rows); diff != "" {
		t.Error(diff)
	}
	if a := p.do("reviewer", "GET", "/api/office/table.csv?columns=colour", ""); a.status != 400 {
		t.Errorf("an unknown column: %d", a.status)
	}
}

// TestViews: everybody has their own saved views.
func TestViews(t *testing.T) {
	p := newPlant(t)
	views := func(who string) string {
		return strings.TrimSpace(string(p.do(who, "GET", "/api/office/views", "").body))
	}
	if got := views("reviewer"); got != `{"views":[]}` {
		t.Error(got)
	}
	const one = `{"views":[{"name":"Overdue","query":"due=overdue"}]}`
	if a := p.do("reviewer", "PUT", "/api/office/views", one); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if got := views("reviewer"); got != one {
		t.Error(got)
	}
	if got := views("administrator"); got != `{"views":[]}` {
		t.Error(got)
	}
	for _, bad := range []string{`[{"name":" ","query":""}]`, `[{"name":"A","query":""},{"name":"A","query":"q=1"}]`} {
		if a := p.do("reviewer", "PUT", "/api/office/views", `{"views":`+bad+`}`); a.status != 400 {
			t.Errorf("%s: %d", bad, a.status)
		}
	}
	if got := views("reviewer"); got != one {
		t.Error("a refused list was kept: " + got)
	}
}
