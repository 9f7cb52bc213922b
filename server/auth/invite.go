package auth

import (
	"crypto/rand"
	"crypto/subtle"
	"strings"
	"time"

	"gaugewright/sync/store"
)

// invitation is a code that lets its holder choose the password of an account, once.
type invitation struct {
	Digest string    `json:"digest"`
	Until  time.Time `json:"until"`
}

const inviteLife = 7 * 24 * time.Hour

// is reports whether a code is the invitation's, whatever its case and grouping.
func (i *invitation) is(code string) bool {
	return subtle.ConstantTimeCompare([]byte(i.Digest), []byte(secretDigest(plainCode(code)))) == 1
}

// plainCode is the stored form of a code: without spaces and hyphens, in capitals.
func plainCode(code string) string {
	return strings.ToUpper(strings.NewReplacer("-", "", " ", "").Replace(code))
}

// newCode returns a code of 130 bits in groups of four and two. It cannot be guessed, so it needs
// no slow hash.
func newCode() string {
	text := rand.Text()
	var groups []string
	for len(text) > 4 {
		groups, text = append(groups, text[:4]), text[4:]
	}
	return strings.Join(append(groups, text), "-")
}

// Invite makes an account without a password and returns the code with which its owner chooses one
// within seven days.
//
// Refuses: what Add refuses of a name and a role.
func (k *Keeper) Invite(
	id, name string, role Role, more ...store.Step,
) (u User, code string, err error) {
	if err := k.free(id, name, role); err != nil {
		return User{}, "", err
	}
	code = newCode()
	made := User{ID: id, Name: strings.TrimSpace(name), Role: role}
	u, err = k.add(account{User: made, Invitation: k.invitation(code)}, more)
	u.Invited = err == nil
	return u, code, err
}

func (k *Keeper) invitation(code string) *invitation {
	return &invitation{secretDigest(plainCode(code)), k.now().Add(inviteLife)}
}

// InviteAgain gives a new code to a user who lost the password or the invitation. The old password
// and all log-ins end.
//
// Refuses: ErrInput for an unknown account.
func (k *Keeper) InviteAgain(id string, more ...store.Step) (code string, err error) {
	code = newCode()
	invited := func(a *account) { a.Hash, a.Invitation = "", k.invitation(code) }
	return code, k.alter(id, invited, more...)
}

// takeUp sets the password of an invited account.
func (k *Keeper) takeUp(a *account, password string) (*account, error) {
	hash, err := k.hash(password, a.Name)
	if err != nil {
		return nil, err
	}
	taken := false
	err = k.change(a.ID, func(now *account) {
		if taken = now.Invited && now.Invitation.Digest == a.Invitation.Digest; taken {
			now.Hash, now.Invitation, now.Invited = hash, nil, false
			a = now
		}
	})
	if err == nil && !taken { // it was taken up meanwhile
		err = ErrLogin
	}
	return a, err
}

// ChangePassword sets the password that a user chose. Their other log-ins end; the log-in of token
// stays.
//
// Refuses: ErrLogin for a wrong old password, a Wait after repeated ones; ErrInput for a new one
// that is refused; ErrBusy.
func (k *Keeper) ChangePassword(u User, old, password, token string, more ...store.Step) error {
	if err := k.Confirm(u, old); err != nil {
		return err
	}
	hash, err := k.hash(password, u.Name)
	if err != nil {
		return err
	}
	others := func(l kept) bool { return l.key != digest(token) }
	return k.changeEnding(u.ID, func(a *account) error { a.Hash = hash; return nil }, others, more...)
}

// Confirm checks the password of a logged-in user before an important step.
//
// Refuses: ErrLogin, a Wait after repeated failures, ErrBusy.
func (k *Keeper) Confirm(u User, password string) error {
	counted := []slot{{"confirm " + u.ID, freeTries}}
	if long := k.tries.wait(counted, k.now()); long > 0 {
		return &Wait{long}
	}
	a, err := k.account(u.Name)
	if err != nil {
		return err
	}
	if _, err := k.recognised(a, password); err != nil {
		k.tries.failed(counted, k.now())
		return err
	}
	k.tries.passed(counted)
	return nil
}
