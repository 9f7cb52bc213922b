package api_test

import (
	"encoding/json"
	"strings"
	"testing"

	"gaugewright/server/plant"
)

// TestFullNameAndFunction follows a name from the administrator who sets it to the log-in, the
// office and the certificate. Issued certificates keep the old one.
func TestFullNameAndFunction(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	if a := p.do("administrator", "PUT", "/api/office/letterhead", head); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	named := func(who, full, function string) {
		t.Helper()
		body := js(doc{"full": full, "function": function})
		if a := p.do("administrator", "PUT", "/api/users/"+id(who)+"/person", body); a.status != 204 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	paper := func(tag string) (string, func() string) {
		t.Helper()
		var err error
		if f.drafter.Count, err = plant.HighestCount(p.store); err != nil {
			t.Fatal(err)
		}
		c := f.approve(f.wholeVisit(tag).ID)
		read := func() string {
			return printed(t, p.do("reviewer", "GET", "/api/certificates/"+c.ID+".pdf", "").body)
		}
		return read(), read
	}
	states := func(text string, parts ...string) {
		t.Helper()
		for _, part := range parts {
			if !strings.Contains(strings.Join(strings.Fields(text), " "), part) {
				t.Errorf("the certificate does not say %q:\n%s", part, text)
			}
		}
	}
	named("technician", " Tova Reen ", "calibration technician")
	named("reviewer", "Ilse Marn", "")
	first, again := paper("PI-1")
	states(
		first, "Work done by Tova Reen, calibration technician", "Checked by Ilse Marn, reviewer",
		"Authorised by Ilse Marn, reviewer", "Issued by Ilse Marn, reviewer",
	)
	named("reviewer", "Ilse Marn-Odal", "technical manager")
	second, _ := paper("PI-2")
	states(second, "Checked by Ilse Marn-Odal, technical manager", "Issued by Ilse Marn-Odal, technical manager")
	states(again(), "Checked by Ilse Marn, reviewer")

	var list struct {
		Users []struct{ ID, Name, Full, Function string }
	}
	a := p.do("administrator", "GET", "/api/users", "")
	if err := json.Unmarshal(a.body, &list); err != nil {
		t.Fatal(err)
	}
	for _, u := range list.Users {
		if u.ID == id("reviewer") &&
			(u.Name != "reviewer" || u.Full != "Ilse Marn-Odal" || u.Function != "technical manager") {
			t.Errorf("%+v", u)
		}
	}
	for _, who := range []string{"administrator", "reviewer"} {
		a := p.do(who, "GET", "/api/office/people", "")
		if !strings.Contains(string(a.body), `"name":"Tova Reen"`) {
			t.Errorf("%s: the office lists %s", who, a.body)
		}
	}
	var in struct{ Full, Function, Name string }
	a = p.do("technician", "GET", "/api/account", "")
	if err := json.Unmarshal(a.body, &in); err != nil || in.Full != "Tova Reen" || in.Name != "technician" {
		t.Errorf("the own account: %s", a.body)
	}
	body := `{"name":"technician","password":"` + secret + `"}`
	a = p.do("", "POST", "/api/login", body)
	if !strings.Contains(string(a.body), `"full":"Tova Reen"`) {
		t.Errorf("the log-in: %s", a.body)
	}
}

// TestIdentityIsRefused checks that what cannot be printed is refused, naming the field.
func TestIdentityIsRefused(t *testing.T) {
	p := newPlant(t)
	for _, tt := range []struct{ body, field string }{
		{`{"full":""}`, "full"},
		{js(doc{"full": "line\nbreak"}), "full"},
		{js(doc{"full": strings.Repeat("n", 81)}), "full"},
		{js(doc{"full": "Tova Reen", "function": strings.Repeat("f", 81)}), "function"},
	} {
		a := p.do("administrator", "PUT", "/api/users/"+id("technician")+"/person", tt.body)
		if a.status != 400 || !strings.Contains(string(a.body), `"field":"`+tt.field+`"`) {
			t.Errorf("%s: %d %s", tt.body, a.status, a.body)
		}
	}
	body := js(doc{"name": "tova", "role": "technician", "full": "", "function": "technician"})
	if a := p.do("administrator", "POST", "/api/users", body); a.status != 400 {
		t.Errorf("a function without a name: %d %s", a.status, a.body)
	}
	body = js(doc{"name": "tova", "role": "technician", "full": "Tova Reen"})
	if a := p.do("administrator", "POST", "/api/users", body); a.status != 200 {
		t.Errorf("%d %s", a.status, a.body)
	}
	a := p.do("administrator", "GET", "/api/users", "")
	if !strings.Contains(string(a.body), `"name":"tova","role":"technician"`) ||
		!strings.Contains(string(a.body), `"full":"Tova Reen"`) {
		t.Errorf("%s", a.body)
	}
}

// TestRoleOnRecordFollows checks that the role on record follows that of the account.
func TestRoleOnRecordFollows(t *testing.T) {
	p := newPlant(t)
	path := "/api/users/" + id("technician")
	role := func() string {
		t.Helper()
		one, err := plant.LoadPerson(p.store, id("technician"))
		if err != nil {
			t.Fatal(err)
		}
		return one.Role
	}
	if a := p.do("administrator", "PUT", path+"/person", `{"full":"Tova Reen"}`); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if is := role(); is != "technician" {
		t.Error(is)
	}
	if a := p.do("administrator", "PUT", path+"/role", `{"role":"reviewer"}`); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if is := role(); is != "reviewer" {
		t.Error(is)
	}
}
