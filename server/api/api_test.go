package api_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/store"

	"github.com/golang-jwt/jwt/v5"
)

type testPlant struct {
	whole    uint64   // up to how many bytes of changes a phone holds everything
	erasedIn []string // the folders of the list of erasures
	t        testing.TB
	store    *store.Store
	keeper   *auth.Keeper
	handler  http.Handler
	now      time.Time
	tokens   map[string]string
	cookies  map[string]*http.Cookie
	browser  []*http.Cookie // marks of the browser that all people share
}

const secret = "a long enough secret"

var people = map[string]auth.Role{
	"technician": auth.Technician, "reviewer": auth.Reviewer, "administrator": auth.Administrator,
}

// founded is a plant with its people logged in, as files. Hashing passwords is slow, and most tests
// begin with the same plant.
type founded struct {
	files   fstest.MapFS
	tokens  map[string]string
	cookies map[string]*http.Cookie
	browser []*http.Cookie
}

var (
	founding sync.Mutex
	ground   *founded
	plants   = map[testing.TB]bool{} // the tests that have a plant
)

// newPlant opens a plant whose people are logged in. The first one of each test is a copy of the
// same plant; further ones are new plants.
func newPlant(t testing.TB) *testPlant {
	t.Helper()
	founding.Lock()
	defer founding.Unlock()
	p := &testPlant{
		t: t, now: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC), tokens: map[string]string{},
		cookies: map[string]*http.Cookie{},
	}
	dir := t.TempDir()
	if ground != nil && !plants[t] {
		if err := os.CopyFS(dir, ground.files); err != nil {
			t.Fatal(err)
		}
		p.begin(dir)
		maps.Copy(p.tokens, ground.tokens)
		maps.Copy(p.cookies, ground.cookies)
		p.browser = slices.Clone(ground.browser)
	} else {
		p.begin(dir)
		for name, role := range people { // all share a browser, and so a device
			if _, err := p.keeper.Add(id(name), name, role, secret); err != nil {
				t.Fatal(err)
			}
			p.tokens[name], p.cookies[name] = p.login(name, &p.browser)
		}
	}
	if ground == nil {
		ground = p.asFounded(dir)
	}
	plants[t] = true
	t.Cleanup(func() {
		if err := p.store.Close(); err != nil {
			t.Error(err)
		}
	})
	return p
}

// begin opens the store of a plant and its server.
func (p *testPlant) begin(dir string) {
	p.t.Helper()
	var err error
	if p.store, err = store.Open(dir); err != nil {
		p.t.Fatal(err)
	}
	if p.keeper, err = auth.New(p.store, p.clock); err != nil {
		p.t.Fatal(err)
	}
	p.handler = p.open()
}

// asFounded saves the plant as it is now, and opens it again.
func (p *testPlant) asFounded(dir string) *founded {
	p.t.Helper()
	if err := p.store.Close(); err != nil {
		p.t.Fatal(err)
	}
	f := founded{fstest.MapFS{}, maps.Clone(p.tokens), maps.Clone(p.cookies), slices.Clone(p.browser)}
	all := os.DirFS(dir)
	err := fs.WalkDir(all, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := fs.ReadFile(all, path)
		f.files[path] = &fstest.MapFile{Data: b, Mode: 0o600}
		return err
	})
	if err != nil {
		p.t.Fatal(err)
	}
	p.begin(dir)
	return &f
}

// login logs a user in, in a browser with its marks of earlier log-ins.
func (p *testPlant) login(name string, marks *[]*http.Cookie) (token string, cookie *http.Cookie) {
	p.t.Helper()
	r := httptest.NewRequest(
		"POST", "/api/login", strings.NewReader(fmt.Sprintf(`{"name":%q,"password":%q}`, name, secret)),
	)
	r.Header.Set("Content-Type", "application/json")
	for _, c := range *marks {
		r.AddCookie(c)
	}
	a := p.send(r)
	var in struct{ Access string }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 || in.Access == "" {
		p.t.Fatalf("login %s: %d %s", name, a.status, a.body)
	}
	if a.marks != nil {
		*marks = []*http.Cookie{a.marks}
	}
	return in.Access, a.cookie
}

func (p *testPlant) clock() time.Time { return p.now }

// open starts the server on the plant's store, as after a restart.
func (p *testPlant) open() http.Handler {
	return api.New(api.Deps{Store: p.store, Keeper: p.keeper, Now: p.clock, Version: "0.1.0+abc1234", Erased: p.erasedIn, Whole: p.whole, Client: fstest.MapFS{
		"index.html": {
			Data: []byte("<!doctype html>page<script src=\"/assets/main-AB.js\"></script>"),
		}, "verify.html": {Data: []byte("verify page")}, "assets/main-AB.js": {Data: []byte("code")}, "assets/main-AB.js.br": {Data: []byte("small")}}})
}

// id turns a name into letters of the id alphabet.
func id(name string) string {
	return strings.NewReplacer("i", "1", "l", "1", "o", "0", "u", "v").Replace(name)
}

type answer struct {
	status int
	body   []byte
	header http.Header
	cookie *http.Cookie
	marks  *http.Cookie // of earlier log-ins
}

func (p *testPlant) do(who, method, path, body string) answer {
	p.t.Helper()
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	if body != "" && !strings.HasPrefix(path, "/api/blobs") {
		r.Header.Set("Content-Type", "application/json")
	}
	if token, known := p.tokens[who]; known {
		r.Header.Set("Authorization", "Bearer "+token)
	} else if who != "" {
		r.Header.Set("Authorization", "Bearer "+who)
	}
	return p.send(r)
}

func (p *testPlant) send(r *http.Request) answer {
	p.t.Helper()
	w := httptest.NewRecorder()
	p.handler.ServeHTTP(w, r)
	res := w.Result()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		p.t.Fatal(err)
	}
	a := answer{status: res.StatusCode, body: b, header: res.Header}
	for _, c := range res.Cookies() {
		if c.Name == "gw_known" {
			a.marks = c
			continue
		}
		a.cookie = c
	}
	return a
}

func made(ident, author, kind, field string) change.Change {
	value := `"2.50"`
	switch name, _, _ := strings.Cut(field, "."); name {
	case "capture":
		value = `{"of":"indicated","step":"s1","unit":"bar","value":"2.50"}`
	case "closed", "finding", "surroundings", "definition", "draft":
		value = `{}`
	}
	return change.Change{ID: ident, Device: "d1", Seq: 1, Author: author, Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(0, 0, "d1"),
		Record: "r" + ident, Kind: kind, Set: []change.Setting{{Field: field, Value: []byte(value)}}}
}

func push(c ...change.Change) string {
	var list []string
	for i := range c {
		list = append(list, string(c[i].Bytes()))
	}
	return `{"store":"","cursor":0,"nonce":"n1","device":"d1","changes":[` + strings.Join(list, ",") + `]}`
}

// TestWhoMay goes through every route as guest, technician, reviewer and administrator.
func TestWhoMay(t *testing.T) {
	p := newPlant(t)
	photo := []byte("photo")
	sum := sha256.Sum256(photo)
	blob := "/api/blobs/" + hex.EncodeToString(sum[:])
	everybody := [4]int{401, 200, 200, 200}
	admin := [4]int{401, 403, 403, 200}
	tests := []struct {
		method, path, body string
		want               [4]int // guest, technician, reviewer, administrator
	}{
		{"GET", "/api/version", "", [4]int{200, 200, 200, 200}},
		{"POST", "/api/sync", push(), everybody},
		{"POST", "/api/hold", `{"part":"base"}`, everybody},
		{"PUT", blob, string(photo), [4]int{401, 204, 204, 204}},
		{"GET", blob, "", everybody},
		{"HEAD", blob, "", everybody},
		{"POST", "/api/calc/gravity", `{"latitude_deg":45}`, everybody},
		{"POST", "/api/calc/nowhere", `{}`, [4]int{401, 404, 404, 404}},
		{"GET", "/api/tree", "", everybody},
		{"GET", "/api/hub", "", everybody},
		{"GET", "/api/tree?from=1", "", [4]int{401, 400, 400, 400}}, // the journal is empty
		{"GET", "/api/users", "", admin},
		{"POST", "/api/users", `{"name":"new","password":"` + secret + `","role":"technician"}`, admin},
		{
			"PUT", "/api/users/" + id("technician") + "/person", `{"full":"Tova Reen","function":""}`,
			[4]int{401, 403, 403, 204},
		},
		{"PUT", "/api/users/nobody/person", `{"full":"Tova Reen"}`, [4]int{401, 403, 403, 400}},
		{
			"PUT", "/api/users/" + id("technician") + "/person", `{"full":" ","function":""}`,
			[4]int{401, 403, 403, 400},
		},
		{"GET", "/api/office/keys", "", admin},
		{"GET", "/api/account/keys", "", everybody},
		{"POST", "/api/backup", "", admin},
		{"POST", "/api/users/nobody/revoke", "", [4]int{401, 403, 403, 400}},
		{"POST", "/api/users/nobody/restore", "", [4]int{401, 403, 403, 400}},
		{"PUT", "/api/users/nobody/role", `{"role":"technician"}`, [4]int{401, 403, 403, 400}},
		{
			"PUT", "/api/users/" + id("administrator") + "/role", `{"role":"technician"}`,
			[4]int{401, 403, 403, 409},
		}, // the only administrator
		{"POST", "/api/users/" + id("administrator") + "/revoke", "", [4]int{401, 403, 403, 409}},
		{
			"POST", "/api/users", `{"name":"REVIEWER","password":"` + secret + `","role":"technician"}`,
			[4]int{401, 403, 403, 409},
		},
		{"POST", "/api/users/nobody/password", `{"password":"` + secret + `"}`, [4]int{401, 403, 403, 400}},
		{"GET", "/api/logins", "", everybody},
		{"DELETE", "/api/logins/none", "", [4]int{401, 404, 404, 404}},
		{"DELETE", "/api/version", "", [4]int{405, 405, 405, 405}},
		{"GET", "/api/login", "", [4]int{405, 405, 405, 405}},
		{"GET", "/api/ways", "", [4]int{200, 200, 200, 200}},
		{"GET", "/api/openid/begin", "", [4]int{303, 303, 303, 303}}, // to the page that says why it is refused
		{"POST", "/api/openid/logout", "", [4]int{409, 409, 409, 409}},
		{"POST", "/api/account/passkeys", `{"password":"x"}`, [4]int{401, 403, 403, 403}},
		{"DELETE", "/api/account/passkeys/none", `{"password":"x"}`, [4]int{401, 403, 403, 403}},
		{"PUT", "/api/users/none/openid", `{"name":"x"}`, [4]int{401, 403, 403, 409}},
		{"DELETE", "/api/users/none/openid", "", [4]int{401, 403, 403, 400}},
		{"PATCH", "/api/users", "", [4]int{405, 405, 405, 405}},
		{"POST", "/api/office/day", "", [4]int{401, 403, 405, 405}},
		{"GET", "/api/nothing", "", [4]int{404, 404, 404, 404}},
		{"POST", "/api/refresh", "", [4]int{401, 401, 401, 401}},
	}
	for _, tt := range tests {
		for i, who := range []string{"", "technician", "reviewer", "administrator"} {
			a := p.do(who, tt.method, tt.path, tt.body)
			if a.status != tt.want[i] {
				t.Errorf("%s %s as %q: %d, want %d: %s", tt.method, tt.path, who, a.status, tt.want[i], a.body)
			}
			var e struct {
				Error struct{ Code, Message string }
			}
			if a.status >= 400 && (json.Unmarshal(a.body, &e) != nil || e.Error.Code == "" || e.Error.Message == "") &&
				tt.method != "HEAD" {
				t.Errorf("%s %s: an error of another form: %s", tt.method, tt.path, a.body)
			}
			if got := a.header.Get("Cache-Control"); got != "no-store" && strings.HasPrefix(tt.path, "/api/") {
				t.Errorf("%s %s may be kept by a cache: %q", tt.method, tt.path, got)
			}
			if bytes.Contains(a.body, []byte("argon2id")) {
				t.Errorf("%s %s shows a hash", tt.method, tt.path)
			}
		}
	}
}

func TestPushIsJudgedByRole(t *testing.T) {
	p := newPlant(t)
	tests := []struct {
		who, author, kind, field string
		taken                    bool
	}{
		{"technician", "technician", "visit", "surroundings", true},
		{"technician", "technician", "run", "capture.x", true},
		{"technician", "technician", "instrument", "place", true},
		{"technician", "technician", "instrument", "limit", false},
		{"technician", "technician", "visit", "approval", false},
		{"technician", "technician", "visit", "returned.x", false},
		{"technician", "reviewer", "visit", "surroundings", false},
		{"technician", "technician", "method", "draft." + id("technician"), true},
		{"technician", "technician", "method", "draft." + id("reviewer"), false},
		{"technician", "technician", "method", "definition", false},
		{"reviewer", "reviewer", "method", "definition", false},
		{"administrator", "administrator", "method", "version", false},
		{"reviewer", "reviewer", "method", "draft." + id("reviewer"), true},
		{"reviewer", "reviewer", "visit", "approval", false},
		{"administrator", "administrator", "visit", "returned.x", false},
		{"reviewer", "reviewer", "visit", "remark.x", true},
		{"reviewer", "reviewer", "person", "role", false},
		{"administrator", "administrator", "person", "role", true},
	}
	for i, tt := range tests {
		c := made(fmt.Sprintf("c%d", i), id(tt.author), tt.kind, tt.field)
		a := p.do(tt.who, "POST", "/api/sync", push(c))
		var r struct{ Acknowledged, Quarantined []any }
		if err := json.Unmarshal(a.body, &r); err != nil {
			t.Fatal(err)
		}
		if (len(r.Acknowledged) == 1) != tt.taken || (len(r.Quarantined) == 0) != tt.taken {
			t.Errorf("%+v: %s", tt, a.body)
		}
	}
}

func TestReadingsAreNeverAltered(t *testing.T) {
	p := newPlant(t)
	who := id("technician")
	run := func(ident, field string, sees ...string) change.Change {
		c := made(ident, who, "run", field)
		c.Record, c.Set[0].Sees = "r1", sees
		return c
	}
	tests := []struct {
		name  string
		c     change.Change
		taken bool
	}{
		{"a capture", run("c1", "capture.a"), true},
		{"the same sent again", run("c1", "capture.a"), true},
		{"another value for it", run("c2", "capture.a", "c1"), false},
		{"one more", run("c3", "capture.b"), true},
		{"the end of the run", run("c4", "closed"), true},
		{"the first sent again after the end", run("c1", "capture.a"), true},
		{"a capture after the end", run("c5", "capture.c"), false},
		{"the finding after the end", run("c6", "finding"), true},
	}
	for _, tt := range tests {
		a := p.do("technician", "POST", "/api/sync", push(tt.c))
		var r struct{ Acknowledged, Quarantined []any }
		if err := json.Unmarshal(a.body, &r); err != nil || (len(r.Acknowledged) == 1) != tt.taken ||
			(len(r.Quarantined) == 1) == tt.taken {
			t.Errorf("%s: %s, %v", tt.name, a.body, err)
		}
	}
}

func TestRevokedWorkIsPutAside(t *testing.T) {
	p := newPlant(t)
	if a := p.do("administrator", "POST", "/api/users/"+id("technician")+"/revoke", ""); a.status != 204 {
		t.Fatalf("revoke: %d %s", a.status, a.body)
	}
	p.now = p.now.Add(time.Hour) // the token has expired as well
	a := p.do("technician", "POST", "/api/sync", push(made("c1", id("technician"), "visit", "f")))
	var r struct {
		Acknowledged, Changes []any
		Quarantined           []struct{ ID string }
	}
	if err := json.Unmarshal(a.body, &r); err != nil || a.status != 200 || len(r.Acknowledged)+len(r.Changes) != 0 ||
		len(r.Quarantined) != 1 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if held, err := p.store.Quarantined(); err != nil || len(held) != 1 {
		t.Errorf("%v, %v", held, err)
	}
	for path, want := range map[string]int{"/api/users": 403, "/api/calc/gravity": 403} {
		if a := p.do("technician", "POST", path, `{}`); a.status != want {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	renew := httptest.NewRequest("POST", "/api/refresh", nil)
	renew.AddCookie(p.cookies["technician"])
	if a := p.send(renew); a.status != 401 {
		t.Errorf("a revoked user's log-in was renewed: %d", a.status)
	}
}

func TestRefreshAndLogout(t *testing.T) {
	p := newPlant(t)
	cookie := p.cookies["reviewer"]
	if !cookie.HttpOnly || cookie.SameSite != http.SameSiteStrictMode {
		t.Errorf("cookie %+v", cookie)
	}
	if v, err := p.store.Private("refresh").Get(cookie.Value); err != nil || v != nil {
		t.Error("the refresh token itself is kept")
	}
	send := func(path string) answer {
		r := httptest.NewRequest("POST", path, nil)
		r.AddCookie(cookie)
		return p.send(r)
	}
	p.now = p.now.Add(7 * 24 * time.Hour) // a week offline
	if a := p.do("reviewer", "GET", "/api/blobs/x", ""); a.status != 401 {
		t.Errorf("an access token lives for a week: %d", a.status)
	}
	for range 2 { // the reply may get lost; asking again does no harm
		if a := send("/api/refresh"); a.status != 200 {
			t.Fatalf("refresh: %d %s", a.status, a.body)
		}
	}
	if a := send("/api/logout"); a.status != 204 {
		t.Errorf("logout: %d", a.status)
	}
	if a := send("/api/refresh"); a.status != 401 {
		t.Errorf("after logout: %d", a.status)
	}
}

func TestForgedTokensAreRefused(t *testing.T) {
	p := newPlant(t)
	key, err := p.store.Private("keys").Get("access")
	if err != nil {
		t.Fatal(err)
	}
	name, _, _ := strings.Cut(p.cookies["administrator"].Value, ".")
	sum := sha256.Sum256([]byte(name))
	sid := base64.RawURLEncoding.EncodeToString(sum[:16])
	base := func() jwt.MapClaims {
		return jwt.MapClaims{
			"sid": sid, "iss": p.store.StoreID(), "aud": "gaugewright", "sub": id("administrator"),
			"name": "administrator", "exp": p.now.Add(time.Minute).Unix(),
		}
	}
	sign := func(m jwt.SigningMethod, typ string, key any, alter func(jwt.MapClaims)) string {
		c := base()
		if alter != nil {
			alter(c)
		}
		tok := jwt.NewWithClaims(m, c)
		tok.Header["typ"] = typ
		s, err := tok.SignedString(key)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	if a := p.do(sign(jwt.SigningMethodHS256, "at+jwt", key, nil), "GET", "/api/users", ""); a.status != 200 {
		t.Fatalf("a right token: %d", a.status)
	}
	bad := map[string]string{
		"none":      sign(jwt.SigningMethodNone, "at+jwt", jwt.UnsafeAllowNoneSignatureType, nil),
		"algorithm": sign(jwt.SigningMethodHS384, "at+jwt", key, nil),
		"type":      sign(jwt.SigningMethodHS256, "JWT", key, nil),
		"key":       sign(jwt.SigningMethodHS256, "at+jwt", []byte("another"), nil),
		"issuer":    sign(jwt.SigningMethodHS256, "at+jwt", key, func(c jwt.MapClaims) { c["iss"] = "x" }),
		"audience":  sign(jwt.SigningMethodHS256, "at+jwt", key, func(c jwt.MapClaims) { c["aud"] = "x" }),
		"expired": sign(
			jwt.SigningMethodHS256, "at+jwt", key,
			func(c jwt.MapClaims) { c["exp"] = p.now.Add(-time.Minute).Unix() },
		),
		"no expiry":    sign(jwt.SigningMethodHS256, "at+jwt", key, func(c jwt.MapClaims) { delete(c, "exp") }),
		"no log-in":    sign(jwt.SigningMethodHS256, "at+jwt", key, func(c jwt.MapClaims) { delete(c, "sid") }),
		"another user": sign(jwt.SigningMethodHS256, "at+jwt", key, func(c jwt.MapClaims) { c["sub"] = "x" }),
		"garbage":      "a.b.c",
	}
	for name, token := range bad {
		if a := p.do(token, "GET", "/api/users", ""); a.status != 401 {
			t.Errorf("%s: %d", name, a.status)
		}
	}
}

func TestGuessingIsSlowed(t *testing.T) {
	p := newPlant(t)
	last := 0
	for range 6 {
		last = p.do("", "POST", "/api/login", `{"name":"reviewer","password":"wrong"}`).status
	}
	if last != 429 {
		t.Errorf("the sixth wrong password: %d", last)
	}
	p.now = p.now.Add(5 * time.Second)
	if a := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":"Reviewer ","password":%q}`, secret)); a.status != 200 {
		t.Errorf("after waiting: %d", a.status)
	}
}

func TestBodies(t *testing.T) {
	p := newPlant(t)
	for name, tt := range map[string]struct {
		body string
		want int
	}{
		"unknown field": {`{"name":"x","password":"y","more":1}`, 400}, "not JSON": {`{`, 400},
		"too large": {`{"name":"` + strings.Repeat("x", 9<<20) + `"}`, 413},
	} {
		if a := p.do("", "POST", "/api/login", tt.body); a.status != tt.want {
			t.Errorf("%s: %d, want %d: %.200s", name, a.status, tt.want, a.body)
		}
	}
	r := httptest.NewRequest("POST", "/api/login", strings.NewReader(`{}`))
	r.Header.Set("Content-Type", "text/plain")
	if a := p.send(r); a.status != 415 {
		t.Errorf("text/plain: %d", a.status)
	}
	r = httptest.NewRequest("POST", "/api/logout", nil)
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	if a := p.send(r); a.status != 403 || !strings.HasPrefix(string(a.body), `{"error":{"code":"origin",`) {
		t.Errorf("from another site: %d %s", a.status, a.body)
	}
	if a := p.do("", "GET", "/api/login", ""); a.header.Get("Allow") != "POST" {
		t.Errorf("a wrong method: Allow %q", a.header.Get("Allow"))
	}
	if a := p.do("", "POST", "/api/blobs/x", ""); a.status != 405 || a.header.Get("Allow") != "GET, HEAD, PUT, DELETE" {
		t.Errorf("a wrong method: %d, Allow %q", a.status, a.header.Get("Allow"))
	}
}

func TestPages(t *testing.T) {
	p := newPlant(t)
	for path, want := range map[string]string{"/": "page", "/t/abc": "page", "/instrument/x": "page", "/assets/main-AB.js": "code"} {
		a := p.do("", "GET", path, "")
		if a.status != 200 || !strings.Contains(string(a.body), want) {
			t.Errorf("%s: %d %s", path, a.status, a.body)
		}
		csp := a.header.Get("Content-Security-Policy")
		if csp == "" || strings.Contains(csp, "unsafe-inline") || a.header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: headers %v", path, a.header)
		}
		if immutable := strings.Contains(a.header.Get("Cache-Control"), "immutable"); immutable != strings.HasPrefix(path, "/assets/") {
			t.Errorf("%s: %s", path, a.header.Get("Cache-Control"))
		}
	}
	r := httptest.NewRequest("GET", "/assets/main-AB.js", nil)
	r.Header.Set("Accept-Encoding", "gzip, br")
	if a := p.send(r); string(a.body) != "small" || a.header.Get("Content-Encoding") != "br" {
		t.Errorf("compressed: %s %v", a.body, a.header)
	}
	if a := p.do("", "GET", "/assets/gone.js", ""); a.status != 404 {
		t.Errorf("a missing file: %d", a.status)
	}
}

// TestBackupOverTheAPI checks that an administrator's download can be restored as a whole store.
func TestBackupOverTheAPI(t *testing.T) {
	p := newPlant(t)
	p.put("n1", "instrument", "", field{"tag", "PI-1"})
	a := p.do("administrator", "POST", "/api/backup", "")
	if a.status != 200 || a.header.Get("Content-Type") != "application/gzip" {
		t.Fatalf("%d %v", a.status, a.header)
	}
	dir := filepath.Join(t.TempDir(), "copy")
	r, err := store.Restore(dir, bytes.NewReader(a.body))
	if err != nil || len(r.Damage) != 0 || r.Changes != 1 || r.Epoch == p.store.Epoch() {
		t.Errorf("%+v, %v", r, err)
	}
}
