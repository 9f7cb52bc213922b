package auth

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"

	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"github.com/golang-jwt/jwt/v5"
)

// Role is what a user may do.
type Role string

// The roles of people, in rising order: each may do all that the one before it may. Hub is the role
// of a hub, which only carries what people wrote.
const (
	Technician    Role = "technician"
	Reviewer      Role = "reviewer"
	Administrator Role = "administrator"
	Hub           Role = "hub"
)

// Roles lists all roles.
var Roles = []Role{Technician, Reviewer, Administrator, Hub}

// User is an account. The password's hash never leaves this package.
type User struct {
	ID      string `json:"id"`
	Name    string `json:"name"`
	Role    Role   `json:"role"`
	Revoked bool   `json:"revoked"`
	// Browser names the browser that logged in; "" if it is not known.
	Browser string `json:"-"`
	// Vouched is true if a provider vouched for this log-in.
	Vouched bool   `json:"-"`
	session string // names that log-in at the provider
	// Sites are the ids of the sites whose records a technician receives; none means all.
	Sites []string `json:"sites,omitempty"`
	// Left maps each site that was recently taken away to the moment of that: work begun there may
	// still be on its way.
	Left map[string]time.Time `json:"left,omitempty"`
	// Invited is true until the user takes up the invitation. Second is true if each log-in needs a
	// second factor: a code from a device or a passkey.
	Invited bool `json:"invited,omitempty"`
	Second  bool `json:"second,omitempty"`
	// Provider is the user's name at the provider, or the name under which they are expected.
	// Linked is true once they have come.
	Provider string `json:"provider,omitempty"`
	Linked   bool   `json:"linked,omitempty"`
}

// finishing is how long the server still accepts work on a site that was taken away: a phone may
// have been offline for that long.
const finishing = 30 * 24 * time.Hour

// Writes reports whether the server accepts the user's work on a site: always on a site of theirs,
// and for a while on one that was taken away.
func (u User) Writes(site string, now time.Time) bool {
	if !u.Limited() || site == "" || slices.Contains(u.Sites, site) {
		return true
	}
	at, was := u.Left[site]
	return was && now.Sub(at) < finishing
}

// Limited reports whether the user receives the records of some sites only. The office sees all.
func (u User) Limited() bool { return u.Role == Technician && len(u.Sites) > 0 }

type account struct {
	User
	Hash       string      `json:"hash"` // "" until an invitation is taken up
	Invitation *invitation `json:"invitation,omitempty"`
	Factor     *factor     `json:"factor,omitempty"`
	Passkeys   []passkey   `json:"passkeys,omitempty"`
	Outside    *outside    `json:"outside,omitempty"`
	Recovery   []string    `json:"recovery,omitempty"` // digests of the codes on paper that are left
}

var (
	// ErrLogin is returned when name or password are wrong, without saying which.
	ErrLogin = errors.New("name or password is wrong")
	// ErrTooMany is returned when the same account or address failed too often recently.
	ErrTooMany = errors.New("too many attempts; wait a little")
	// ErrToken is returned when a token is not a genuine, current one.
	ErrToken = errors.New("the log-in has ended")
	// ErrRevoked is returned when the user was revoked.
	ErrRevoked = errors.New("the account was revoked")
	// ErrBusy is returned when too many passwords wait to be checked.
	ErrBusy = errors.New("too many log-ins at once; try again in a moment")
	// ErrEnded is wrapped when a new account would have the name of a revoked one.
	ErrEnded = errors.New("the account was revoked; restore it first")
	// ErrExists is wrapped when the name of a new account is taken.
	ErrExists = errors.New("there is an account of this name already")
	// ErrLast is wrapped when a change would leave no administrator.
	ErrLast = errors.New("this is the only administrator; name another one first")
	// ErrSecond is the error in a Wanted, which is returned for a right password without the second
	// factor.
	ErrSecond = errors.New("the second factor is needed")
	// ErrInvited is returned for a right invitation that comes without a new password.
	ErrInvited = errors.New("an invitation needs a password of one's own")
	// ErrInput is wrapped when the data of an account is not valid.
	ErrInput = errors.New("cannot make this account")
)

const (
	accessLife  = 15 * time.Minute
	refreshLife = 90 * 24 * time.Hour  // if it is not used
	loginLife   = 180 * 24 * time.Hour // however often it is used
	audience    = "gaugewright"
	tokenType   = "at+jwt"
)

// Keeper keeps accounts and log-ins in the private part of a store.
type Keeper struct {
	keep           func(...store.Step) error // runs several steps in one transaction
	users, refresh store.Private
	key            []byte
	issuer         string
	now            func() time.Time
	hashing        hashing
	tries          tries
	passkeys       *relying // nil if this server takes no passkeys
	changing       alone    // serialises changes of the accounts
	logins         alone    // keeps a renewal from reviving a log-in that is being ended
}

// New returns the keeper of the accounts in a store; now is the clock.
func New(s *store.Store, now func() time.Time) (*Keeper, error) {
	key, err := accessKey(s)
	if err != nil {
		return nil, err
	}
	return &Keeper{keep: s.Keep, users: s.Private("users"), refresh: s.Private("refresh"), key: key, issuer: s.StoreID(), now: now,
		changing: alone{s: s, name: "accounts"}, logins: alone{s: s, name: "log-ins"},
		hashing: newHashing(), tries: tries{failures: map[string]failure{}}}, nil
}

// alone is a lock that also excludes other servers of the same store.
type alone struct {
	mu   sync.Mutex
	s    *store.Store
	name string
}

// lock waits for the lock and returns the function that releases it.
func (a *alone) lock() (free func(), err error) {
	a.mu.Lock()
	others, err := a.s.Alone(a.name)
	if err != nil {
		a.mu.Unlock()
		return nil, err
	}
	return func() { others(); a.mu.Unlock() }, nil
}

// accessKey returns the key that seals tokens, and makes it if there is none. In a store restored
// from a backup it makes a new key and ends all log-ins: whoever holds the backup, or was shut out
// since, has the old ones.
func accessKey(s *store.Store) ([]byte, error) {
	keys, refresh := s.Private("keys"), s.Private("refresh")
	key, err := keys.Get("access")
	if err != nil {
		return nil, err
	}
	of, err := keys.Get("access epoch")
	if err != nil {
		return nil, err
	}
	if key != nil && string(of) == s.Restored() {
		return key, nil
	}
	key = make([]byte, 32)
	if _, err := rand.Read(key); err != nil {
		return nil, err
	}
	var ended []string
	err = refresh.Each(func(k string, _ []byte) error { ended = append(ended, k); return nil })
	if err != nil {
		return nil, err
	}
	if err := refresh.Batch(nil, ended); err != nil {
		return nil, err
	}
	return key, keys.Batch(map[string][]byte{"access": key, "access epoch": []byte(s.Restored())}, nil)
}

func nameKey(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

func (k *Keeper) account(name string) (*account, error) {
	b, err := k.users.Get(nameKey(name))
	if err != nil || b == nil {
		return nil, err
	}
	a, err := readAccount(b, k.now())
	if err != nil {
		return nil, fmt.Errorf("the account %q is damaged: %w", name, err)
	}
	return &a, nil
}

func readAccount(b []byte, now time.Time) (a account, err error) {
	err = json.Unmarshal(b, &a)
	if a.Factor != nil { // written when the recovery codes still belonged to the device
		a.Recovery, a.Factor.Recovery = append(a.Recovery, a.Factor.Recovery...), nil
	}
	a.Provider, a.Linked = "", false
	if a.Outside != nil {
		a.Provider, a.Linked = a.Outside.Name, a.Outside.Subject != ""
	}
	a.Invited, a.Second = a.Invitation != nil && now.Before(a.Invitation.Until), a.hasCodes() || len(a.Passkeys) > 0
	return a, err
}

func (k *Keeper) put(a account, more ...store.Step) error {
	b, err := json.Marshal(a)
	if err != nil {
		return err
	}
	return k.users.Put(nameKey(a.Name), b, more...)
}

// Add makes an account.
//
// Refuses: ErrInput for a name that is not 1 to 64 characters long or mixes scripts that look
// alike, an unknown role, or a password that hash refuses; ErrExists if an account has that name,
// ignoring case; ErrEnded if that account was revoked (Restore gives it back); ErrBusy.
func (k *Keeper) Add(id, name string, role Role, password string, more ...store.Step) (User, error) {
	if err := k.free(id, name, role); err != nil {
		return User{}, err
	}
	hash, err := k.hash(password, name)
	if err != nil {
		return User{}, err
	}
	return k.add(account{User: User{ID: id, Name: strings.TrimSpace(name), Role: role}, Hash: hash}, more)
}

func (k *Keeper) add(a account, more []store.Step) (User, error) {
	free, err := k.changing.lock()
	if err != nil {
		return User{}, err
	}
	defer free()
	switch old, err := k.account(a.Name); {
	case err != nil:
		return User{}, err
	case old != nil: // made while the password was hashed
		return User{}, ErrExists
	}
	return a.User, k.put(a, more...)
}

// free returns why no account can be made under a name, or nil.
func (k *Keeper) free(id, name string, role Role) error {
	switch {
	case nameKey(name) == "" || len(name) > 64 || !plainName(name):
		return fmt.Errorf("%w: the name needs 1 to 64 characters that can be seen, of one script", ErrInput)
	case !slices.Contains(Roles, role):
		return fmt.Errorf("%w: the role is technician, reviewer, administrator or hub", ErrInput)
	case !change.IsID(id):
		return fmt.Errorf("%w: %q is not an id", ErrInput, id)
	}
	old, err := k.account(name)
	switch {
	case err != nil:
		return err
	case old != nil && old.Revoked:
		return fmt.Errorf("%w: %s", ErrEnded, old.Name)
	case old != nil:
		return fmt.Errorf("%w: %s", ErrExists, old.Name)
	}
	return nil
}

// scripts are those whose letters look alike: a name that mixes two of them may pass for another.
var scripts = []*unicode.RangeTable{unicode.Latin, unicode.Cyrillic, unicode.Greek}

// plainName reports whether a name has visible characters only, with letters of one script.
func plainName(name string) bool {
	met := map[*unicode.RangeTable]bool{}
	for _, r := range name {
		if !unicode.IsPrint(r) {
			return false
		}
		for _, s := range scripts {
			if unicode.Is(s, r) {
				met[s] = true
			}
		}
	}
	return len(met) <= 1
}

// SetRole gives an account another role; its log-ins end.
//
// Refuses: ErrInput for an unknown account or role; ErrLast for the only administrator.
func (k *Keeper) SetRole(id string, role Role, more ...store.Step) error {
	if !slices.Contains(Roles, role) {
		return fmt.Errorf("%w: the role is technician, reviewer, administrator or hub", ErrInput)
	}
	return k.alter(id, func(a *account) { a.Role = role }, more...)
}

// Users returns all accounts, ordered by name.
func (k *Keeper) Users() (list []User, err error) {
	err = k.each(func(a account) { list = append(list, a.User) })
	return list, err
}

// each calls to for every account, ordered by name.
func (k *Keeper) each(to func(account)) error {
	return k.users.Each(func(_ string, v []byte) error {
		a, err := readAccount(v, k.now())
		if err == nil {
			to(a)
		}
		return err
	})
}

// Revoke ends an account. Its log-ins end at once, and what its devices still send goes to
// quarantine.
//
// Refuses: ErrInput for an unknown account; ErrLast for the only administrator.
func (k *Keeper) Revoke(id string, more ...store.Step) error {
	return k.alter(id, func(a *account) { a.Revoked = true }, more...)
}

// Restore gives a revoked account back, with the password it had.
func (k *Keeper) Restore(id string, more ...store.Step) error {
	return k.alter(id, func(a *account) { a.Revoked = false }, more...)
}

// SetPassword gives an account another password and ends its log-ins, so that whoever knew the old
// one is out. A revoked account stays revoked.
//
// Refuses: ErrInput for an unknown account or a password that hash refuses; ErrBusy.
func (k *Keeper) SetPassword(id, password string, more ...store.Step) error {
	name, err := k.nameOf(id)
	if err != nil {
		return err
	}
	hash, err := k.hash(password, name)
	if err != nil {
		return err
	}
	return k.alter(id, func(a *account) { a.Hash, a.Invitation = hash, nil }, more...)
}

// alter changes an account and ends its log-ins; more runs in the same transaction.
func (k *Keeper) alter(id string, change func(*account), more ...store.Step) error {
	return k.changeEnding(
		id, func(a *account) error { change(a); return nil }, func(kept) bool { return true }, more...,
	)
}

// changeEnding changes an account and ends those of its log-ins that ends picks; more runs in the
// same transaction.
func (k *Keeper) changeEnding(id string, change func(*account) error, ends func(kept) bool, more ...store.Step) error {
	free, err := k.logins.lock()
	if err != nil {
		return err
	}
	defer free()
	list, err := k.loginsOf(id)
	if err != nil {
		return err
	}
	var steps []store.Step
	for _, l := range list {
		if ends(l) {
			steps = append(steps, k.refresh.Deleting(l.key))
		}
	}
	return k.changeIf(id, change, append(steps, more...)...)
}

// SetSites sets the sites whose records a technician receives; none means all. Log-ins stay.
func (k *Keeper) SetSites(id string, sites []string, more ...store.Step) error {
	return k.change(id, func(a *account) {
		now, left := k.now(), map[string]time.Time{}
		for site, at := range a.Left {
			if now.Sub(at) < finishing {
				left[site] = at
			}
		}
		for _, site := range a.Sites {
			left[site] = now
		}
		for _, site := range sites {
			delete(left, site)
		}
		a.Sites, a.Left = sites, left
	}, more...)
}

// nameOf returns the name of an account.
//
// Refuses: ErrInput for an unknown account.
func (k *Keeper) nameOf(id string) (string, error) {
	users, err := k.Users()
	if err != nil {
		return "", err
	}
	for _, u := range users {
		if u.ID == id {
			return u.Name, nil
		}
	}
	return "", fmt.Errorf("%w: there is no account %q", ErrInput, id)
}

// IDOf returns the id of the account with a name, or "" if there is none.
func (k *Keeper) IDOf(name string) (string, error) {
	a, err := k.account(name)
	if err != nil || a == nil {
		return "", err
	}
	return a.ID, nil
}

func (k *Keeper) change(id string, change func(*account), more ...store.Step) error {
	return k.changeIf(id, func(a *account) error { change(a); return nil }, more...)
}

// changeIf changes an account. If change returns an error, nothing is written.
func (k *Keeper) changeIf(id string, change func(*account) error, more ...store.Step) error {
	free, err := k.changing.lock()
	if err != nil {
		return err
	}
	defer free()
	users, err := k.Users()
	if err != nil {
		return err
	}
	i := slices.IndexFunc(users, func(u User) bool { return u.ID == id })
	if i < 0 {
		return fmt.Errorf("%w: there is no account %q", ErrInput, id)
	}
	a, err := k.account(users[i].Name)
	if err != nil {
		return err
	}
	if err := change(a); err != nil {
		return err
	}
	rules := func(u User) bool { return u.Role == Administrator && !u.Revoked }
	if rules(users[i]) && !rules(a.User) &&
		!slices.ContainsFunc(users, func(u User) bool { return u.ID != id && rules(u) }) {
		return fmt.Errorf("%w: %s", ErrLast, a.Name)
	}
	return k.put(*a, more...)
}

type claims struct {
	Name  string `json:"name"`
	Login string `json:"sid"` // names the log-in, as sessionName does
	jwt.RegisteredClaims
}

func (k *Keeper) access(u User, refresh string, l login) (Login, error) {
	end, last := k.now().Add(accessLife), k.now().Add(refreshLife)
	if latest := l.Made.Add(loginLife); latest.Before(last) {
		last = latest
	}
	t := jwt.NewWithClaims(jwt.SigningMethodHS256, claims{u.Name, sessionName(digest(refresh)), jwt.RegisteredClaims{Issuer: k.issuer, Subject: u.ID,
		Audience: jwt.ClaimStrings{audience}, ExpiresAt: jwt.NewNumericDate(end)}})
	t.Header["typ"] = tokenType
	s, err := t.SignedString(k.key)
	if err != nil {
		return Login{}, err
	}
	return Login{User: u, Access: s, Expires: end, Refresh: refresh, Last: last}, nil
}

// Who returns the user of an access token.
//
// Refuses: ErrToken for anything but a current token of this store (RFC 8725: algorithm, type,
// issuer and audience are checked); ErrRevoked, with the user, for a genuine token of a revoked
// account, current or not, so that its unsent work can go to quarantine.
func (k *Keeper) Who(token string) (User, error) {
	var c claims
	t, err := jwt.ParseWithClaims(token, &c, func(*jwt.Token) (any, error) { return k.key, nil }, jwt.WithValidMethods([]string{"HS256"}),
		jwt.WithIssuer(k.issuer), jwt.WithAudience(audience), jwt.WithExpirationRequired(), jwt.WithTimeFunc(k.now))
	expired := errors.Is(err, jwt.ErrTokenExpired) && !errors.Is(err, jwt.ErrTokenSignatureInvalid) &&
		!errors.Is(err, jwt.ErrTokenInvalidIssuer) && !errors.Is(err, jwt.ErrTokenInvalidAudience)
	if t == nil || t.Header["typ"] != tokenType || err != nil && !expired {
		return User{}, ErrToken
	}
	a, err := k.account(c.Name)
	if err != nil {
		return User{}, err
	}
	switch {
	case a == nil || a.ID != c.Subject:
		return User{}, ErrToken
	case a.Revoked:
		return a.User, ErrRevoked
	case expired:
		return User{}, ErrToken
	}
	l, there, err := k.session(c.Login)
	if err != nil {
		return User{}, err // nobody is logged out because a database cannot be read
	}
	if !there {
		return User{}, ErrToken // ended by its owner, a new password or a log-out
	}
	a.Browser, a.Vouched = l.Browser, l.Vouched
	return a.User, nil
}
