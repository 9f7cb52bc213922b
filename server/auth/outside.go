package auth

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"gaugewright/sync/store"
)

// outside says how a provider identifies the user of an account. Until the user first comes, the
// provider's name for them is expected for some days. From then on only the provider's subject
// counts, whoever gets that name later.
type outside struct {
	Name    string    `json:"name"`
	Until   time.Time `json:"until"`
	Issuer  string    `json:"issuer,omitempty"`
	Subject string    `json:"subject,omitempty"`
}

// Vouched is a person whom a provider vouches for. Second is true if the provider asks for a second
// factor itself.
type Vouched struct {
	Issuer, Subject, Name string
	Session               string // names the log-in at the provider, "" if it gave none
	Second                bool
}

var (
	// ErrStranger is returned for a person whom the provider knows but no account here expects.
	ErrStranger = errors.New("no account here expects this person; ask the office")
	// ErrOwnSecond is returned if the account has a second factor here and the provider asks for
	// none.
	ErrOwnSecond = errors.New("this account has a second factor here; log in with the password or the passkey")
	// ErrNotOutside is returned if an account has no log-in by a provider.
	ErrNotOutside = errors.New("this account has no log-in by the provider")
)

const maxOutside = 254 // of a name; the longest e-mail address (RFC 5321)

// ExpectOpenID lets a user log in through a provider, under the name they have there, if they come
// within seven days. It replaces an earlier link of the account.
//
// Refuses: ErrInput for an unknown account, a hub, or a name that is not 1 to 254 characters long;
// ErrExists if another account expects that name.
func (k *Keeper) ExpectOpenID(id, name string, more ...store.Step) error {
	name = strings.TrimSpace(name)
	if name == "" || len(name) > maxOutside {
		return fmt.Errorf("%w: name: the name at the provider has 1 to %d characters", ErrInput, maxOutside)
	}
	taken := false
	err := k.each(func(a account) {
		o := a.Outside
		taken = taken || a.ID != id && o != nil && o.Subject == "" && nameKey(o.Name) == nameKey(name)
	})
	if err != nil {
		return err
	}
	if taken {
		return fmt.Errorf("%w: another account expects %s", ErrExists, name)
	}
	return k.changeEnding(id, func(a *account) error {
		if a.Role == Hub {
			return fmt.Errorf("%w: a hub logs in with its password", ErrInput)
		}
		a.Outside = &outside{Name: name, Until: k.now().Add(inviteLife)}
		return nil
	}, func(l kept) bool { return l.Vouched }, more...)
}

// EndOpenID removes the log-in by the provider from an account and ends the log-ins that came by
// it.
//
// Refuses: ErrInput for an unknown account; ErrNotOutside.
func (k *Keeper) EndOpenID(id string, more ...store.Step) error {
	return k.changeEnding(id, func(a *account) error {
		if a.Outside == nil {
			return ErrNotOutside
		}
		a.Outside = nil
		return nil
	}, func(l kept) bool { return l.Vouched }, more...)
}

// LoginOutside logs in a person whom a provider vouches for: one known by that subject, or one who
// is expected under that name and comes for the first time, which linked records. It makes no
// account.
//
// Refuses: ErrStranger; ErrRevoked and ErrOwnSecond, wrapped in a Refused.
func (k *Keeper) LoginOutside(v Vouched, from Origin, linked func(user string) store.Step) (Login, error) {
	var known, expecting *account
	err := k.each(func(a account) {
		switch o := a.Outside; {
		case o == nil:
		case o.Subject == v.Subject && o.Issuer == v.Issuer:
			known = &a
		case o.Subject == "" && nameKey(o.Name) == nameKey(v.Name) && k.now().Before(o.Until):
			expecting = &a
		}
	})
	if err != nil {
		return Login{}, err
	}
	a := known
	if a == nil {
		a = expecting
	}
	switch {
	case a == nil:
		return Login{}, ErrStranger
	case a.Revoked:
		return Login{}, &Refused{a.User, ErrRevoked}
	case a.Second && !v.Second:
		return Login{}, &Refused{a.User, ErrOwnSecond}
	}
	if known == nil {
		err := k.changeIf(a.ID, func(now *account) error {
			if now.Outside == nil || now.Outside.Subject != "" || now.Outside.Name != a.Outside.Name {
				return ErrStranger
			}
			now.Outside.Issuer, now.Outside.Subject, now.Invitation = v.Issuer, v.Subject, nil
			return nil
		}, linked(a.ID))
		if err != nil {
			return Login{}, err
		}
	}
	a.Vouched, a.session = true, short(v.Session)
	return k.begin(a, from, func(now *account) error {
		o := now.Outside
		return errIf(o == nil || o.Subject != v.Subject || o.Issuer != v.Issuer, ErrStranger, nil)
	})
}

// EndOutside ends log-ins that came by a provider after it reports a log-out: all log-ins of a
// subject, or those of one session there. Log-ins whose session there is unknown count as part of
// it. noted runs in the same transaction if any log-in ends.
func (k *Keeper) EndOutside(
	issuer, subject, session string, noted func(user string) store.Step,
) (ended int, err error) {
	session = short(session)
	var users []string
	err = k.each(func(a account) {
		if o := a.Outside; o != nil && o.Issuer == issuer && (subject == "" || o.Subject == subject) {
			users = append(users, a.ID)
		}
	})
	if err != nil {
		return 0, err
	}
	ends := func(_ int, l kept) bool {
		switch {
		case !l.Vouched:
			return false
		case subject == "":
			return session != "" && l.Session == session
		}
		return session == "" || l.Session == "" || l.Session == session
	}
	for _, user := range users {
		list, err := k.loginsOf(user)
		if err != nil {
			return ended, err
		}
		if !slices.ContainsFunc(list, func(l kept) bool { return ends(0, l) }) {
			continue
		}
		n, err := k.endWhere(user, ends, noted(user))
		if ended += n; err != nil {
			return ended, err
		}
	}
	return ended, nil
}
