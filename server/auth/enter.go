package auth

import (
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"errors"
	"strconv"
	"strings"
	"time"

	"gaugewright/sync/store"
)

// Login is an access token with its expiry, and the opaque token that renews it.
type Login struct {
	User    User
	Access  string
	Expires time.Time
	Refresh string
	Last    time.Time // the latest end; sooner if it is not used
}

// Origin is where a log-in comes from: the address, the browser's description of itself, and its
// marks of earlier log-ins.
type Origin struct {
	Address, Device, Marks string
	// With is a step to run in the transaction of the log-in; nil for none.
	With func(user string) store.Step
}

// Entry is what a user logs in with.
type Entry struct {
	Name     string `json:"name"`
	Password string `json:"password"` // or the code of an invitation
	Code     string `json:"code"`     // of the second factor, or a recovery code; "" if not asked for
	New      string `json:"new"`      // the password the user chooses, with an invitation
}

// Login calls LoginFrom for a device without a name.
func (k *Keeper) Login(name, password, address string) (Login, error) {
	return k.LoginFrom(Entry{Name: name, Password: password}, Origin{Address: address})
}

// LoginFrom checks a password, and a second factor if the account has one. After repeated failures
// both the address and the account at that address have to wait.
//
// Refuses: ErrLogin, a Wait, ErrRevoked; ErrSecond and ErrInvited if more is needed; ErrInput for a
// new password that is refused; ErrBusy if too many passwords wait to be checked.
func (k *Keeper) LoginFrom(in Entry, from Origin) (Login, error) {
	counted := slots(in.Name, from, k.known(in.Name, from.Marks))
	a, err := k.first(in, counted)
	if err != nil {
		return Login{}, err
	}
	if a.Second {
		if err := k.second(a.ID, in.Code); err != nil {
			if errors.Is(err, ErrLogin) {
				k.tries.failed(counted, k.now())
			}
			return Login{}, err
		}
	}
	k.tries.passed(counted)
	return k.begin(a, from)
}

// first checks a password or an invitation, and no second factor.
func (k *Keeper) first(in Entry, counted []slot) (*account, error) {
	if long := k.tries.wait(counted, k.now()); long > 0 {
		return nil, &Wait{long}
	}
	a, err := k.account(in.Name)
	if err != nil {
		return nil, err
	}
	if a != nil && a.Invited && a.Invitation.is(in.Password) {
		if in.New == "" || a.Revoked {
			return nil, errIf(a.Revoked, ErrRevoked, ErrInvited)
		}
		return k.takeUp(a, in.New)
	}
	if a, err = k.recognised(a, in.Password); errors.Is(err, ErrLogin) {
		k.tries.failed(counted, k.now())
	}
	return a, err
}

func errIf(is bool, yes, no error) error {
	if is {
		return yes
	}
	return no
}

// recognised checks a password. If its hash has an outdated cost, it makes a new one.
func (k *Keeper) recognised(a *account, password string) (*account, error) {
	hash := decoy
	if a != nil && a.Hash != "" {
		hash = a.Hash
	}
	if !k.hashing.enter() {
		return nil, ErrBusy
	}
	right, weak, err := checkPassword(hash, password)
	k.hashing.leave()
	switch {
	case err != nil:
		return nil, err
	case a == nil || a.Hash == "" || !right:
		return nil, ErrLogin
	case a.Revoked:
		return nil, ErrRevoked
	}
	if weak { // unless too many passwords wait to be hashed
		hash, err := k.hashed(password)
		if err == nil {
			err = k.change(a.ID, func(now *account) {
				if now.Hash == a.Hash {
					now.Hash = hash
					a = now
				}
			})
		}
		if err != nil && !errors.Is(err, ErrBusy) {
			return nil, err
		}
	}
	return a, nil
}

// begin makes a log-in of an account whose password was right. Checking a password takes a while:
// if the account got another password or was ended meanwhile, begin refuses. still rechecks other
// evidence in the same way, such as a passkey or a provider's word.
//
// Refuses: ErrLogin, ErrRevoked or ErrSecond for what changed since the account was read; what
// still refuses.
func (k *Keeper) begin(a *account, from Origin, still ...func(now *account) error) (Login, error) {
	free, err := k.logins.lock()
	if err != nil {
		return Login{}, err
	}
	defer free()
	now, err := k.account(a.Name)
	switch {
	case err != nil:
		return Login{}, err
	case now == nil || now.ID != a.ID || now.Hash != a.Hash:
		return Login{}, ErrLogin
	case now.Revoked:
		return Login{}, ErrRevoked
	case now.Second && !a.Second:
		return Login{}, ErrSecond
	}
	for _, holds := range still {
		if err := holds(now); err != nil {
			return Login{}, err
		}
	}
	u := now.User
	u.Vouched, u.session = a.Vouched, a.session
	if err := k.thin(u.ID); err != nil {
		return Login{}, err
	}
	b := make([]byte, 64)
	if _, err := rand.Read(b); err != nil {
		return Login{}, err
	}
	token := base64.RawURLEncoding.EncodeToString(b[:32]) + tokenParts + base64.RawURLEncoding.EncodeToString(b[32:])
	l := login{
		User: u.ID, Name: u.Name, Made: k.now(), Device: short(from.Device), Browser: k.browser(from.Marks),
		Vouched: u.Vouched, Session: u.session,
	}
	var more []store.Step
	if from.With != nil {
		more = append(more, from.With(u.ID))
	}
	if err := k.keepLogin(token, l, more...); err != nil {
		return Login{}, err
	}
	return k.access(u, token, l)
}

// again is how long the token before the present one still gets the same reply: two pages of one
// browser may renew at once, or a connection may break.
const again = 2 * time.Minute

// Refresh renews an access token and replaces the refresh token. The refresh token before it works
// once more, in case the reply got lost. An older one means that two parties hold the log-in, which
// then ends (RFC 9700, 4.14.2). Each use extends the log-in by 90 days, up to its last day.
//
// Refuses: ErrToken; a Reused, which is an ErrToken, if the log-in was ended for that; ErrRevoked.
func (k *Keeper) Refresh(token string, with ...func(user string) store.Step) (Login, error) {
	free, err := k.logins.lock()
	if err != nil {
		return Login{}, err
	}
	defer free()
	b, err := k.refresh.Get(digest(token))
	if err != nil {
		return Login{}, err
	}
	var l login
	if b == nil || json.Unmarshal(b, &l) != nil || k.over(l) {
		return Login{}, ErrToken
	}
	a, err := k.account(l.Name)
	if err != nil {
		return Login{}, err
	}
	if a == nil || a.ID != l.User {
		return Login{}, ErrToken
	}
	if a.Revoked {
		return Login{}, ErrRevoked
	}
	switch d := secretDigest(token); {
	case d == l.Secret || l.Secret == "": // or written before tokens were replaced
		l.Before, l.Turned = d, k.now()
		l.Turns++
	case d == l.Before && k.now().Sub(l.Turned) <= again: // the same reply as before
	case d == l.Before: // the reply got lost: replace the token
		l.Turned = k.now()
		l.Turns++
	default:
		return Login{}, errors.Join(&Reused{a.User}, k.refresh.Delete(digest(token), stepsOf(a.ID, with)...))
	}
	name, _, _ := strings.Cut(token, tokenParts)
	next := name + tokenParts + base64.RawURLEncoding.EncodeToString(
		k.seal("refresh", name, l.Before, strconv.FormatUint(l.Turns, 10)),
	)
	if err := k.keepLogin(next, l); err != nil {
		return Login{}, err
	}
	return k.access(a.User, next, l)
}

// Reused is returned for a refresh token that had been replaced; its log-in was ended.
type Reused struct{ User User }

// Error returns the text of ErrToken.
func (r *Reused) Error() string { return ErrToken.Error() }

// Is makes a Reused match ErrToken.
func (r *Reused) Is(target error) bool { return target == ErrToken }
