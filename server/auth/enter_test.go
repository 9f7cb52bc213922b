package auth

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"gaugewright/sync/store"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
)

// TestRefreshTokensAreReplaced checks that each use gives another token, that the token before
// works while the reply may be lost, and that an older one ends the log-in.
func TestRefreshTokensAreReplaced(t *testing.T) {
	k, _, now := opened(t)
	renew := func(token string) Login {
		t.Helper()
		l, err := k.Refresh(token)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	zero := entered(t, k).Refresh
	one := renew(zero).Refresh
	if one == zero {
		t.Fatal("the token stays the same")
	}
	if renew(zero).Refresh != one {
		t.Error("two pages that ask at once are given two tokens")
	}
	*now = now.Add(time.Hour)
	other := renew(zero).Refresh // the reply was lost
	if other == one {
		t.Error("a token that may have been read on the way still serves after an hour")
	}
	two := renew(other).Refresh
	if _, err := k.Who(renew(two).Access); err != nil {
		t.Fatal(err)
	}
	var reused *Reused
	if _, err := k.Refresh(other); !errors.As(err, &reused) || !errors.Is(err, ErrToken) || reused.User.ID != anna {
		t.Fatalf("a token from before the last: got %v", err)
	}
	if _, err := k.Refresh(two); !errors.Is(err, ErrToken) {
		t.Errorf("the log-in goes on in two hands: %v", err)
	}
}

// TestALoginHasALastDay checks that a log-in ends then, however often it is used.
func TestALoginHasALastDay(t *testing.T) {
	k, _, now := opened(t)
	l := entered(t, k)
	begun := *now
	var err error
	for now.Sub(begun) < loginLife-10*24*time.Hour {
		*now = now.Add(10 * 24 * time.Hour)
		if l, err = k.Refresh(l.Refresh); err != nil {
			t.Fatalf("after %v: %v", now.Sub(begun), err)
		}
	}
	if want := begun.Add(loginLife); !l.Last.Equal(want) {
		t.Errorf("its last day is %v, want %v", l.Last, want)
	}
	*now = begun.Add(loginLife + time.Second)
	if _, err := k.Refresh(l.Refresh); !errors.Is(err, ErrToken) {
		t.Errorf("got %v", err)
	}
}

// TestAStrangerLocksNobodyOut checks that wrong passwords from elsewhere do not keep the owner out,
// from any address. Failures from many addresses do not delay a browser that logged in before.
func TestAStrangerLocksNobodyOut(t *testing.T) {
	k, _, now := opened(t)
	marks, err := k.Mark("anna", "")
	if err != nil {
		t.Fatal(err)
	}
	for range 20 {
		if _, err := k.Login("anna", "wrong", "198.51.100.1"); !errors.Is(err, ErrLogin) &&
			!errors.Is(err, ErrTooMany) {
			t.Fatal(err)
		}
	}
	entered(t, k)
	for i := range 200 { // from many addresses
		if _, err := k.Login("anna", "wrong", fmt.Sprintf("198.51.100.%d", i)); !errors.Is(err, ErrLogin) &&
			!errors.Is(err, ErrTooMany) {
			t.Fatal(err)
		}
	}
	var wait *Wait
	if _, err := k.Login("anna", password, "192.0.2.9"); !errors.As(err, &wait) || wait.For <= 0 || wait.For > longest {
		t.Errorf("many addresses guess without a wait: %v", err)
	}
	in := Entry{Name: "anna", Password: password}
	if _, err := k.LoginFrom(in, Origin{Address: "192.0.2.9", Marks: marks}); err != nil {
		t.Errorf("a browser that is known: %v", err)
	}
	for range 6 { // the browser has five tries of its own
		_, err = k.LoginFrom(Entry{Name: "anna", Password: "wrong"}, Origin{Address: "192.0.2.9", Marks: marks})
	}
	if !errors.Is(err, ErrTooMany) {
		t.Errorf("a browser that is known guesses without a wait: %v", err)
	}
	if k.known("bert", marks) != "" || k.known("anna", marks[:len(marks)-2]) != "" || k.known("ANNA ", marks) == "" {
		t.Error("a mark is one account's, and sealed")
	}
	more, err := k.Mark("bert", marks)
	if err != nil || k.known("anna", more) == "" || k.known("bert", more) == "" {
		t.Errorf("two people who share a browser: %q %v", more, err)
	}
	*now = now.Add(longest)
	if _, err := k.Login("anna", password, "192.0.2.10"); err != nil {
		t.Errorf("after the wait: %v", err)
	}
}

// TestCommonPasswordsAreRefused: the first are in every list of common passwords (from memory), the
// others are usual variations of them.
func TestCommonPasswordsAreRefused(t *testing.T) {
	k, _, _ := opened(t)
	for _, bad := range []string{"password123", "aaaaaaaaaa", "1234567890", "qwertyuiop", "1q2w3e4r5t", "iloveyou123", "P@ssw0rd123", "passwordpassword", "annaannaanna", "gaugewright1", "Anna123456", "abcdefghij"} {
		if err := k.SetPassword(anna, bad); !errors.Is(err, ErrInput) {
			t.Errorf("%q was taken: %v", bad, err)
		}
	}
	for _, good := range []string{"another long one", "correct horse battery staple", "zug-kolben-ventil", strings.Repeat("long ones are fine ", 13)} {
		if err := k.SetPassword(anna, good); err != nil {
			t.Errorf("%q: %v", good, err)
		}
	}
}

// TestNamesThatLookAlike: a name with a letter of another script may pass for another name.
func TestNamesThatLookAlike(t *testing.T) {
	k, _, _ := opened(t)
	for _, bad := range []string{"jor\u0456n", "two\nlines", "\u202eright to left", "  "} {
		if _, err := k.Add("new0000000000000000000000z", bad, Technician, password); !errors.Is(err, ErrInput) {
			t.Errorf("%q was taken: %v", bad, err)
		}
	}
	if _, err := k.Add("new0000000000000000000000z", "Jörin Österlind", Technician, password); err != nil {
		t.Error(err)
	}
}

// TestInvitations checks that a code lets its holder choose a password once, within seven days.
func TestInvitations(t *testing.T) {
	k, _, now := opened(t)
	const bert, cleo = "bert0000000000000000000000", "cea00000000000000000000000"
	u, code, err := k.Invite(bert, "Bert", Technician)
	if err != nil || !u.Invited {
		t.Fatal(u, err)
	}
	enter := func(name, password, own string) error {
		_, err := k.LoginFrom(Entry{Name: name, Password: password, New: own}, Origin{Address: "here"})
		return err
	}
	for _, step := range []struct {
		name, password, own string
		want                error
	}{
		{"bert", "", "", ErrLogin},
		{"bert", "AAAA-AAAA", "a password of his", ErrLogin},
		{"anna", code, "a password of his", ErrLogin},
		{"bert", code, "", ErrInvited},
		{"bert", code, "password123", ErrInput},
		{"bert", strings.ToLower(strings.ReplaceAll(code, "-", " ")), "a password of his", nil},
		{"bert", code, "another of somebody", ErrLogin},
		{"bert", "a password of his", "", nil},
	} {
		if err := enter(step.name, step.password, step.own); !errors.Is(err, step.want) {
			t.Errorf("%q %q: %v, want %v", step.password, step.own, err, step.want)
		}
	}
	if _, code, err = k.Invite(cleo, "Cleo", Technician); err != nil {
		t.Fatal(err)
	}
	*now = now.Add(inviteLife + time.Second)
	if err := enter("cleo", code, "a password of hers"); !errors.Is(err, ErrLogin) {
		t.Errorf("after seven days: %v", err)
	}
	if code, err = k.InviteAgain(bert); err != nil {
		t.Fatal(err)
	}
	if err := enter("bert", "a password of his", ""); !errors.Is(err, ErrLogin) {
		t.Errorf("the old password after a new invitation: %v", err)
	}
	if err := enter("bert", code, "one more of his own"); err != nil {
		t.Error(err)
	}
}

func TestOwnPassword(t *testing.T) {
	k, _, _ := opened(t)
	here, there := entered(t, k), entered(t, k)
	u, err := k.Who(here.Access)
	if err != nil {
		t.Fatal(err)
	}
	if err := k.ChangePassword(u, "not the one", "another long one", here.Refresh); !errors.Is(err, ErrLogin) {
		t.Errorf("with a wrong old one: %v", err)
	}
	if err := k.ChangePassword(u, password, "aaaaaaaaaa", here.Refresh); !errors.Is(err, ErrInput) {
		t.Errorf("with a common new one: %v", err)
	}
	if err := k.ChangePassword(u, password, "another long one", here.Refresh); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Who(here.Access); err != nil {
		t.Errorf("the log-in that changed it: %v", err)
	}
	if _, err := k.Who(there.Access); !errors.Is(err, ErrToken) {
		t.Errorf("another log-in: %v", err)
	}
	for range freeTries {
		if err := k.ChangePassword(u, "not the one", "another long one", here.Refresh); !errors.Is(err, ErrLogin) {
			t.Error(err)
		}
	}
	if err = k.ChangePassword(u, "another long one", "a third long one", here.Refresh); !errors.Is(err, ErrTooMany) {
		t.Errorf("guessing at the old one: %v", err)
	}
}

// TestCodesAreThoseOfTheStandard uses RFC 6238, appendix B, SHA-1, of whose eight digits we show
// the last six, and RFC 4226, appendix D (both from memory).
func TestCodesAreThoseOfTheStandard(t *testing.T) {
	const secret = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ" // "12345678901234567890" in base32
	for at, want := range map[int64]string{59: "94287082", 1111111109: "07081804", 1111111111: "14050471", 1234567890: "89005924", 2000000000: "69279037", 20000000000: "65353130"} {
		got, err := codeAt(secret, at/stepSeconds)
		if err != nil || got != want[2:] {
			t.Errorf("at %d: %s, want %s: %v", at, got, want[2:], err)
		}
		eight, err := hotp.GenerateCodeCustom(
			secret, uint64(at/stepSeconds),
			hotp.ValidateOpts{Digits: otp.DigitsEight, Algorithm: otp.AlgorithmSHA1},
		)
		if err != nil || eight != want {
			t.Errorf("at %d: %s, want %s: %v", at, eight, want, err)
		}
	}
	for step, want := range []string{"755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"} {
		if got, err := codeAt(secret, int64(step)); err != nil || got != want {
			t.Errorf("step %d: %s, want %s: %v", step, got, want, err)
		}
	}
}

func TestSecondFactor(t *testing.T) {
	k, _, now := opened(t)
	l, lost := entered(t, k), entered(t, k)
	who := func(access string) User {
		t.Helper()
		u, err := k.Who(access)
		if err != nil {
			t.Fatal(err)
		}
		return u
	}
	u := who(l.Access)
	secret, address, err := k.BeginFactor(u)
	if err != nil || !strings.HasPrefix(address, "otpauth://totp/") || !strings.Contains(address, secret) {
		t.Fatal(secret, address, err)
	}
	enter := func(code string) error {
		_, err := k.LoginFrom(Entry{Name: "anna", Password: password, Code: code}, Origin{Address: "here"})
		return err
	}
	if err := enter(""); err != nil {
		t.Errorf("one that was not confirmed is asked for: %v", err)
	}
	code := func() string {
		t.Helper()
		c, err := codeAt(secret, now.Unix()/stepSeconds)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	if _, err := k.ConfirmFactor(u, "000000", l.Refresh); !errors.Is(err, ErrCode) {
		t.Errorf("confirmed by a wrong code: %v", err)
	}
	recovery, err := k.ConfirmFactor(u, code(), l.Refresh)
	if err != nil || len(recovery) != recoveryCodes {
		t.Fatal(recovery, err)
	}
	if _, err := k.Who(lost.Access); !errors.Is(err, ErrToken) {
		t.Errorf("a log-in without it goes on: %v", err)
	}
	if u = who(l.Access); !u.Second {
		t.Error("the account does not say it")
	}
	if _, _, err := k.BeginFactor(u); !errors.Is(err, ErrFactor) {
		t.Errorf("replaced without a word: %v", err)
	}
	if err := enter(code()); !errors.Is(err, ErrLogin) {
		t.Errorf("a code is taken twice: %v", err)
	}
	*now = now.Add(stepSeconds * time.Second)
	if _, err := k.LoginFrom(Entry{Name: "anna", Password: "wrong", Code: code()}, Origin{Address: "here"}); !errors.Is(err, ErrLogin) {
		t.Errorf("with a wrong password: %v", err)
	}
	if err := enter(""); !errors.Is(err, ErrSecond) {
		t.Errorf("without a code: %v", err)
	}
	if err := enter(code()[:3] + " " + code()[3:]); err != nil {
		t.Errorf("with the code: %v", err)
	}
	for want, c := range map[error]string{nil: recovery[3], ErrLogin: recovery[3][:8]} {
		if err := enter(strings.ToLower(c)); !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", c, err, want)
		}
	}
	if err := enter(recovery[3]); !errors.Is(err, ErrLogin) {
		t.Errorf("a recovery code is taken twice: %v", err)
	}
	if err := k.EndFactor(anna); err != nil {
		t.Fatal(err)
	}
	if err := enter(""); err != nil {
		t.Errorf("after its end: %v", err)
	}
	if err := k.EndFactor(anna); !errors.Is(err, ErrFactor) {
		t.Error(err)
	}
}

// TestRestoringMakesNewKeys checks that no token from a backup, and none ended since, is valid in
// the store restored from it.
func TestRestoringMakesNewKeys(t *testing.T) {
	k, s, now := opened(t)
	l := entered(t, k)
	r, w := pipe(t, s)
	dir := t.TempDir() + "/copy"
	if _, err := store.Restore(dir, r); err != nil {
		t.Fatal(err)
	}
	if err := <-w; err != nil {
		t.Fatal(err)
	}
	copied, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := copied.Close(); err != nil {
			t.Error(err)
		}
	}()
	var fresh Login
	for round := range 2 { // and log-ins made there last
		other, err := New(copied, func() time.Time { return *now })
		if err != nil {
			t.Fatal(err)
		}
		if _, err := other.Who(l.Access); !errors.Is(err, ErrToken) {
			t.Errorf("an access token of the backup: %v", err)
		}
		if _, err := other.Refresh(l.Refresh); !errors.Is(err, ErrToken) {
			t.Errorf("a refresh token of the backup: %v", err)
		}
		if round == 0 {
			fresh = entered(t, other)
		} else if _, err := other.Who(fresh.Access); err != nil {
			t.Errorf("a log-in of after the restore: %v", err)
		}
	}
	if _, err := k.Who(l.Access); err != nil {
		t.Errorf("in the store that was copied: %v", err)
	}
}

// pipe backs a store up into a reader; the channel gives the error of the backup.
func pipe(t *testing.T, s *store.Store) (io.Reader, <-chan error) {
	t.Helper()
	r, w := io.Pipe()
	done := make(chan error, 1)
	go func() { done <- errors.Join(s.Backup(w, false), w.Close()) }()
	return r, done
}

// TestALoginDoesNotOutliveItsPassword checks that a log-in does not begin if the account got
// another password or a second factor, or was ended, after the password was checked.
func TestALoginDoesNotOutliveItsPassword(t *testing.T) {
	for _, x := range []struct {
		what string
		do   func(*Keeper) error
		want error
	}{
		{"nothing", func(*Keeper) error { return nil }, nil},
		{"another password", func(k *Keeper) error {
			return k.SetPassword(anna, "another long enough secret")
		}, ErrLogin},
		{"an invitation", func(k *Keeper) error { _, err := k.InviteAgain(anna); return err }, ErrLogin},
		{"the end of the account", func(k *Keeper) error { return k.Revoke(anna) }, ErrRevoked},
		{"a second factor", func(k *Keeper) error {
			return k.change(anna, func(a *account) { a.Factor = &factor{Confirmed: true} })
		}, ErrSecond},
		{"another role", func(k *Keeper) error { return k.SetRole(anna, Reviewer) }, nil},
	} {
		k, _, _ := opened(t)
		a, err := k.account("anna")
		if err != nil {
			t.Fatal(err)
		}
		if a, err = k.recognised(a, password); err != nil {
			t.Fatal(err)
		}
		if err := x.do(k); err != nil {
			t.Fatal(x.what, err)
		}
		l, err := k.begin(a, Origin{})
		if !errors.Is(err, x.want) {
			t.Errorf("%s: %v, want %v", x.what, err, x.want)
		}
		if list, err := k.loginsOf(anna); err != nil || (len(list) > 0) != (x.want == nil) {
			t.Errorf("%s: %d log-ins, %v", x.what, len(list), err)
		}
		if x.what == "another role" && l.User.Role != Reviewer {
			t.Errorf("the log-in is of a %s", l.User.Role)
		}
	}
}
