package auth

import (
	"bytes"
	"crypto/rand"
	"errors"
	"runtime"
	"strings"
	"testing"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"github.com/golang-jwt/jwt/v5"
)

const (
	password = "a long enough one"
	anna     = "anna0000000000000000000000"
)

// opened returns a keeper over a fresh folder, its store and its clock.
func opened(t *testing.T) (*Keeper, *store.Store, *time.Time) {
	t.Helper()
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	now := time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	k, err := New(s, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	if _, err := k.Add(anna, "Anna", Technician, password); err != nil {
		t.Fatal(err)
	}
	return k, s, &now
}

func entered(t *testing.T, k *Keeper) Login {
	t.Helper()
	l, err := k.Login("anna", password, "192.0.2.1")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TestTokensRefused checks algorithm, type, issuer, audience, expiry and key as RFC 8725 asks
// (section numbers from memory: 3.1, 3.8, 3.9, 3.11).
func TestTokensRefused(t *testing.T) {
	k, _, now := opened(t)
	sid := sessionName(digest(entered(t, k).Refresh))
	sign := func(method jwt.SigningMethod, key any, typ string, bend func(*claims)) string {
		c := claims{"Anna", sid, jwt.RegisteredClaims{Issuer: k.issuer, Subject: anna, Audience: jwt.ClaimStrings{audience},
			ExpiresAt: jwt.NewNumericDate(now.Add(time.Minute))}}
		if bend != nil {
			bend(&c)
		}
		tok := jwt.NewWithClaims(method, c)
		tok.Header["typ"] = typ
		s, err := tok.SignedString(key)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	good := sign(jwt.SigningMethodHS256, k.key, tokenType, nil)
	if u, err := k.Who(good); err != nil || u.ID != anna {
		t.Fatalf("a good token: got %v, %v", u, err)
	}
	for name, bad := range map[string]string{
		"alg none":    sign(jwt.SigningMethodNone, jwt.UnsafeAllowNoneSignatureType, tokenType, nil),
		"alg HS512":   sign(jwt.SigningMethodHS512, k.key, tokenType, nil),
		"another key": sign(jwt.SigningMethodHS256, bytes.Repeat([]byte{1}, 32), tokenType, nil),
		"typ":         sign(jwt.SigningMethodHS256, k.key, "JWT", nil),
		"audience": sign(
			jwt.SigningMethodHS256, k.key, tokenType,
			func(c *claims) { c.Audience = jwt.ClaimStrings{"other"} },
		),
		"issuer": sign(jwt.SigningMethodHS256, k.key, tokenType, func(c *claims) { c.Issuer = "other" }),
		"ended": sign(
			jwt.SigningMethodHS256, k.key, tokenType,
			func(c *claims) { c.ExpiresAt = jwt.NewNumericDate(now.Add(-time.Second)) },
		),
		"without end":   sign(jwt.SigningMethodHS256, k.key, tokenType, func(c *claims) { c.ExpiresAt = nil }),
		"half a log-in": sign(jwt.SigningMethodHS256, k.key, tokenType, func(c *claims) { c.Login = c.Login[:10] }),
		"another log-in": sign(
			jwt.SigningMethodHS256, k.key, tokenType,
			func(c *claims) { c.Login = sessionName(digest("other")) },
		),
		"no log-in":    sign(jwt.SigningMethodHS256, k.key, tokenType, func(c *claims) { c.Login = "" }),
		"another user": sign(jwt.SigningMethodHS256, k.key, tokenType, func(c *claims) { c.Subject = "bert" }),
		"cut":          good[:len(good)-2],
		"empty":        "",
	} {
		if u, err := k.Who(bad); !errors.Is(err, ErrToken) || u.ID != "" {
			t.Errorf("%s: want it refused, got %v, %v", name, u, err)
		}
	}
}

func TestRefreshIsKeptAsHashOnly(t *testing.T) {
	k, s, now := opened(t)
	l := entered(t, k)
	kept := 0
	err := s.Private("refresh").Each(func(key string, v []byte) error {
		kept++
		if strings.Contains(key, l.Refresh) || bytes.Contains(v, []byte(l.Refresh)) {
			t.Error("the refresh token itself is on disk")
		}
		return nil
	})
	if err != nil || kept != 1 {
		t.Fatalf("want one log-in kept, got %d, %v", kept, err)
	}
	for range 2 { // each use extends the log-in
		*now = now.Add(89 * 24 * time.Hour)
		if l, err = k.Refresh(l.Refresh); err != nil {
			t.Fatalf("after 89 days: %v", err)
		}
	}
	*now = now.Add(91 * 24 * time.Hour)
	if _, err := k.Refresh(l.Refresh); !errors.Is(err, ErrToken) {
		t.Errorf("after 91 idle days: want it refused, got %v", err)
	}
}

func TestRevokedIsKnownEvenWhenExpired(t *testing.T) {
	k, _, now := opened(t)
	l := entered(t, k)
	if err := k.Revoke(anna); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Refresh(l.Refresh); err == nil {
		t.Error("the refresh token outlived the account")
	}
	for range 2 { // still valid, then expired
		if u, err := k.Who(l.Access); !errors.Is(err, ErrRevoked) || u.ID != anna {
			t.Errorf("want the revoked user named, got %v, %v", u, err)
		}
		*now = now.Add(time.Hour)
	}
	if _, err := k.Login("anna", password, "192.0.2.1"); !errors.Is(err, ErrRevoked) {
		t.Errorf("log-in of a revoked account: got %v", err)
	}
}

func TestWaitAfterWrongPasswords(t *testing.T) {
	k, _, now := opened(t)
	for range 5 {
		if _, err := k.Login("anna", "wrong", "192.0.2.1"); !errors.Is(err, ErrLogin) {
			t.Fatalf("got %v", err)
		}
	}
	if _, err := k.Login("anna", password, "192.0.2.1"); !errors.Is(err, ErrTooMany) {
		t.Errorf("by account and address: want a wait, got %v", err)
	}
	if _, err := k.Login("bert", password, "192.0.2.1"); !errors.Is(err, ErrTooMany) {
		t.Errorf("by address: want a wait, got %v", err)
	}
	*now = now.Add(10 * time.Second)
	entered(t, k)
}

func TestMayWrite(t *testing.T) {
	tech, rev, adm := User{ID: anna, Role: Technician}, User{ID: anna, Role: Reviewer}, User{ID: anna, Role: Administrator}
	for _, c := range []struct {
		user        User
		kind, field string
		want        bool
	}{
		{tech, "visit", "signature", true}, {tech, "run", "capture.a1", true}, {tech, "instrument", "place", true}, {tech, "instrument", "note", true},
		{tech, "visit", "approval", false}, {tech, "visit", "returned.a1", false}, {tech, "visit", "check.a1", false},
		{tech, "instrument", "message.m1", true}, {tech, "instrument", "seen.m1." + anna, true}, {rev, "instrument", "message.m1", true},
		{tech, "instrument", "limit", false}, {tech, "method", "definition", false}, {tech, "certificate", "number", false}, {tech, "person", "role", false},
		{tech, "method", "draft." + anna, true}, {tech, "method", "draft.bert", false}, {tech, "method", "draft", false}, {tech, "method", "version", false},
		{rev, "visit", "approval", true}, {rev, "method", "definition", true}, {rev, "person", "role", false}, {adm, "person", "role", true},
	} {
		one := change.Change{Author: anna, Kind: c.kind, Set: []change.Setting{{Field: c.field}}}
		if err := MayWrite(c.user, &one); (err == nil) != c.want {
			t.Errorf("%s, %s.%s: want allowed %v, got %v", c.user.Role, c.kind, c.field, c.want, err)
		}
	}
	if MayWrite(adm, &change.Change{Author: "bert", Kind: "visit"}) == nil {
		t.Error("a change in another's name was let through")
	}
}

func TestNewPasswordEndsLogins(t *testing.T) {
	k, _, _ := opened(t)
	l := entered(t, k)
	if err := k.SetPassword(anna, "another long one"); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Refresh(l.Refresh); !errors.Is(err, ErrToken) {
		t.Errorf("a log-in made with the old password: want it ended, got %v", err)
	}
}

// TestANameIsTakenOnce checks that a new account under a taken name, in whatever case, leaves the
// existing account as it is.
func TestANameIsTakenOnce(t *testing.T) {
	k, _, _ := opened(t)
	l := entered(t, k)
	if _, err := k.Add("new0000000000000000000000z", " ANNA ", Administrator, "another long one"); !errors.Is(err, ErrExists) {
		t.Errorf("want it refused, got %v", err)
	}
	if in, err := k.Refresh(l.Refresh); err != nil || in.User.Role != Technician || in.User.ID != anna {
		t.Errorf("%+v %v", in.User, err)
	}
}

// TestTheLastAdministratorStays: without an administrator nobody could give anyone access.
func TestTheLastAdministratorStays(t *testing.T) {
	k, _, _ := opened(t)
	const one, two = "adm10000000000000000000000", "adm20000000000000000000000"
	for _, id := range []string{one, two} {
		if _, err := k.Add(id, id, Administrator, password); err != nil {
			t.Fatal(err)
		}
	}
	if err := k.SetRole(one, Reviewer); err != nil {
		t.Fatal(err)
	}
	for _, err := range []error{k.Revoke(two), k.SetRole(two, Technician)} {
		if !errors.Is(err, ErrLast) {
			t.Errorf("want it refused, got %v", err)
		}
	}
	if err := k.SetRole(one, Administrator); err != nil {
		t.Fatal(err)
	}
	if err := k.Revoke(two); err != nil {
		t.Error(err)
	}
	if err := k.SetRole(one, "master"); !errors.Is(err, ErrInput) {
		t.Error(err)
	}
}

func TestRevokedIsNotMadeAgainInPassing(t *testing.T) {
	k, _, _ := opened(t)
	l := entered(t, k)
	if err := k.Revoke(anna); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Add(anna, " ANNA", Reviewer, "another long one"); !errors.Is(err, ErrEnded) {
		t.Errorf("want it refused, got %v", err)
	}
	if err := k.SetPassword(anna, "another long one"); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Login("anna", "another long one", "here"); !errors.Is(err, ErrRevoked) {
		t.Errorf("a new password gave the account back: %v", err)
	}
	if err := k.Restore(anna); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Refresh(l.Refresh); !errors.Is(err, ErrToken) {
		t.Errorf("an old log-in came back with the account: %v", err)
	}
	again, err := k.Login("anna", "another long one", "here")
	if err != nil || again.User.Role != Technician {
		t.Errorf("restored: %+v, %v", again.User, err)
	}
	for _, err := range []error{k.Restore("nobody"), k.SetPassword("nobody", "another long one"), k.SetPassword(anna, "short")} {
		if !errors.Is(err, ErrInput) {
			t.Errorf("got %v", err)
		}
	}
}

func TestSessions(t *testing.T) {
	k, _, now := opened(t)
	bert := "bert0000000000000000000000"
	if _, err := k.Add(bert, "Bert", Technician, password); err != nil {
		t.Fatal(err)
	}
	var in []Login
	for _, device := range []string{"phone", "tablet", strings.Repeat("é", 400)} {
		l, err := k.LoginFrom(Entry{Name: "anna", Password: password}, Origin{Address: "here", Device: device})
		if err != nil {
			t.Fatal(err)
		}
		in = append(in, l)
		*now = now.Add(time.Minute)
	}
	list, err := k.Sessions(anna, in[1].Refresh)
	if err != nil || len(list) != 3 || list[0].Device != strings.Repeat("é", maxDevice/2) ||
		list[2].Device != "phone" || list[0].This || !list[1].This {
		t.Fatalf("%+v, %v", list, err)
	}
	if err := k.EndSession(bert, list[2].ID); !errors.Is(err, ErrNoLogin) {
		t.Errorf("another user's log-in: %v", err)
	}
	if err := k.EndSession(anna, list[2].ID); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Who(in[0].Access); !errors.Is(err, ErrToken) {
		t.Errorf("the access token outlived its log-in: %v", err)
	}
	if _, err := k.Who(in[2].Access); err != nil {
		t.Errorf("the others go on: %v", err)
	}
	if err := k.EndOtherSessions(anna, in[1].Refresh); err != nil {
		t.Fatal(err)
	}
	if list, err = k.Sessions(anna, in[1].Refresh); err != nil || len(list) != 1 || !list[0].This {
		t.Errorf("%+v, %v", list, err)
	}
	for range maxSessions + 3 {
		if err := k.keepLogin(rand.Text(), login{User: anna, Name: "Anna", Made: *now}); err != nil {
			t.Fatal(err)
		}
	}
	entered(t, k)
	if list, err = k.Sessions(anna, ""); err != nil || len(list) != maxSessions {
		t.Errorf("%d log-ins kept, %v", len(list), err)
	}
	*now = now.Add(refreshLife + time.Hour)
	if list, err = k.Sessions(anna, ""); err != nil || len(list) != 0 {
		t.Errorf("%d log-ins that have run out are shown, %v", len(list), err)
	}
	entered(t, k)
	if all, err := k.loginsOf(anna); err != nil || len(all) != 1 {
		t.Errorf("%d log-ins kept after the others ran out, %v", len(all), err)
	}
}

// TestHashingIsBounded fills the queue: the next request is refused at once, and once the queue is
// empty requests are served again.
func TestHashingIsBounded(t *testing.T) {
	k, _, _ := opened(t)
	for range cap(k.hashing.working) {
		if !k.hashing.enter() {
			t.Fatal("no room in an empty queue")
		}
	}
	entering := make(chan bool)
	for range maxWaiting - cap(k.hashing.working) {
		go func() { entering <- k.hashing.enter() }()
	}
	for len(k.hashing.waiting) < maxWaiting {
		runtime.Gosched()
	}
	if _, err := k.Login("anna", password, "here"); !errors.Is(err, ErrBusy) {
		t.Errorf("want it refused as busy, got %v", err)
	}
	if err := k.SetPassword(anna, password); !errors.Is(err, ErrBusy) {
		t.Errorf("want it refused as busy, got %v", err)
	}
	for range maxWaiting - cap(k.hashing.working) {
		k.hashing.leave()
		if !<-entering {
			t.Error("one that waited was refused")
		}
	}
	for range cap(k.hashing.working) {
		k.hashing.leave()
	}
	entered(t, k)
}

// TestWorkOnASiteThatWasTakenAway checks that it is accepted for thirty days, since a phone may
// have been offline for that long. Work on a site that was never given is refused.
func TestWorkOnASiteThatWasTakenAway(t *testing.T) {
	k, _, now := opened(t)
	writes := func(sites ...string) (which string) {
		t.Helper()
		list, err := k.Users()
		if err != nil || len(list) != 1 {
			t.Fatal(list, err)
		}
		for _, s := range sites {
			if list[0].Writes(s, *now) {
				which += s + " "
			}
		}
		return which
	}
	set := func(sites ...string) {
		t.Helper()
		if err := k.SetSites(anna, sites); err != nil {
			t.Fatal(err)
		}
	}
	if got := writes("", "west", "east"); got != " west east " {
		t.Errorf("without sites: %q", got)
	}
	set("west")
	if got := writes("", "west", "east", "north"); got != " west " {
		t.Errorf("with one: %q", got)
	}
	set("east")
	*now = now.Add(29 * 24 * time.Hour)
	if got := writes("west", "east", "north"); got != "west east " {
		t.Errorf("with another: %q", got)
	}
	set("north")
	*now = now.Add(2 * 24 * time.Hour)
	if got := writes("west", "east", "north"); got != "east north " {
		t.Errorf("after a month: %q", got)
	}
}

// TestAnUnreadableStoreEndsNoLogIn: a database that cannot be read is no reason to ask somebody for their
// password, as an ended log-in is.
func TestAnUnreadableStoreEndsNoLogIn(t *testing.T) {
	k, _, _ := opened(t)
	l := entered(t, k)
	other, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	k.refresh = other.Private("refresh")
	if err := other.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Who(l.Access); err == nil || errors.Is(err, ErrToken) {
		t.Errorf("without its log-ins: %v", err)
	}
}
