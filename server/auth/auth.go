// Package auth says who somebody is and what they may do.
package auth

import (
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"github.com/golang-jwt/jwt/v5"
)

// Role is what a user may do.
type Role string

// The roles of people, each may do what the one before may; and that of a hub, which only carries what people wrote.
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
	// Sites are the ids of the sites whose records a technician is given; none means all.
	Sites []string `json:"sites,omitempty"`
}

// Limited says whether the user is given the records of some sites only. The office sees all.
func (u User) Limited() bool { return u.Role == Technician && len(u.Sites) > 0 }

type account struct {
	User
	Hash string `json:"hash"`
}

var (
	// ErrLogin is returned when name or password are wrong, without saying which.
	ErrLogin = errors.New("name or password is wrong")
	// ErrTooMany is returned when the same account or address failed too often of late.
	ErrTooMany = errors.New("too many attempts; wait a little")
	// ErrToken is returned when a token is not a genuine, current one.
	ErrToken = errors.New("the log-in has ended")
	// ErrRevoked is returned when the user was revoked.
	ErrRevoked = errors.New("the account was revoked")
	// ErrBusy is returned when too many passwords wait to be checked.
	ErrBusy = errors.New("too many log-ins at once; try again in a moment")
	// ErrEnded is wrapped when an account that was revoked would be made again without a word.
	ErrEnded = errors.New("the account was revoked; restore it first")
	// ErrInput is wrapped when an account's data cannot be taken.
	ErrInput = errors.New("cannot make this account")
)

const (
	accessLife  = 15 * time.Minute
	refreshLife = 90 * 24 * time.Hour
	audience    = "gaugewright"
	tokenType   = "at+jwt"
)

// Keeper keeps accounts and log-ins in the private part of a store.
type Keeper struct {
	users, refresh store.Private
	key            []byte
	issuer         string
	now            func() time.Time
	hashing        hashing
	mu             sync.Mutex
	failures       map[string]failure
	logins         sync.Mutex // so that a log-in that is being renewed is not brought back while it is ended
}

type failure struct {
	count int
	until time.Time
}

// New returns the keeper of a store; now is the clock.
func New(s *store.Store, now func() time.Time) (*Keeper, error) {
	keys := s.Private("keys")
	key, err := keys.Get("access")
	if err != nil {
		return nil, err
	}
	if key == nil {
		key = make([]byte, 32)
		if _, err := rand.Read(key); err != nil {
			return nil, err
		}
		if err := keys.Put("access", key); err != nil {
			return nil, err
		}
	}
	return &Keeper{users: s.Private("users"), refresh: s.Private("refresh"), key: key, issuer: s.StoreID(), now: now,
		hashing: newHashing(), failures: map[string]failure{}}, nil
}

func nameKey(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

func (k *Keeper) account(name string) (*account, error) {
	b, err := k.users.Get(nameKey(name))
	if err != nil || b == nil {
		return nil, err
	}
	var a account
	if err := json.Unmarshal(b, &a); err != nil {
		return nil, fmt.Errorf("the account %q is damaged: %w", name, err)
	}
	return &a, nil
}

func (k *Keeper) put(a account) error {
	b, err := json.Marshal(a)
	if err != nil {
		return err
	}
	return k.users.Put(nameKey(a.Name), b)
}

// Add makes an account, or gives an existing one of that name a new password and role.
//
// Refuses: ErrInput for a name of other than 1 to 64 characters, an unknown role or a password below 10 characters; ErrEnded for a revoked
// account, which Restore gives back; ErrBusy.
func (k *Keeper) Add(id, name string, role Role, password string) (User, error) {
	switch {
	case nameKey(name) == "" || len(name) > 64:
		return User{}, fmt.Errorf("%w: the name needs 1 to 64 characters", ErrInput)
	case !slices.Contains(Roles, role):
		return User{}, fmt.Errorf("%w: the role is technician, reviewer, administrator or hub", ErrInput)
	case !change.IsID(id):
		return User{}, fmt.Errorf("%w: %q is not an id", ErrInput, id)
	}
	old, err := k.account(name)
	if err != nil {
		return User{}, err
	}
	if old != nil && old.Revoked {
		return User{}, fmt.Errorf("%w: %s", ErrEnded, old.Name)
	}
	if old != nil {
		id = old.ID
	}
	hash, err := k.hash(password)
	if err != nil {
		return User{}, err
	}
	a := account{User{ID: id, Name: strings.TrimSpace(name), Role: role}, hash}
	if old != nil {
		a.Sites = old.Sites
	}
	if err := k.put(a); err != nil || old == nil {
		return a.User, err
	}
	return a.User, k.endLogins(id) // whoever knew the old password is out
}

// Users returns all accounts in the order of their names.
func (k *Keeper) Users() (list []User, err error) {
	err = k.users.Each(func(_ string, v []byte) error {
		var a account
		if err := json.Unmarshal(v, &a); err != nil {
			return err
		}
		list = append(list, a.User)
		return nil
	})
	return list, err
}

// Revoke ends an account: its log-ins die at once, and what its devices still send goes to quarantine.
func (k *Keeper) Revoke(id string) error {
	return k.alter(id, func(a *account) { a.Revoked = true })
}

// Restore gives a revoked account back, with the password it had.
func (k *Keeper) Restore(id string) error {
	return k.alter(id, func(a *account) { a.Revoked = false })
}

// SetPassword gives an account another password; whoever knew the old one is out. A revoked account stays so.
//
// Refuses: ErrInput for an unknown account or a password of other than 10 to 256 characters; ErrBusy.
func (k *Keeper) SetPassword(id, password string) error {
	hash, err := k.hash(password)
	if err != nil {
		return err
	}
	return k.alter(id, func(a *account) { a.Hash = hash })
}

// alter changes an account and ends its log-ins.
func (k *Keeper) alter(id string, change func(*account)) error {
	if err := k.change(id, change); err != nil {
		return err
	}
	return k.endLogins(id)
}

// SetSites says of which sites a technician is given the records; none is all. Log-ins stay.
func (k *Keeper) SetSites(id string, sites []string) error {
	return k.change(id, func(a *account) { a.Sites = sites })
}

func (k *Keeper) change(id string, change func(*account)) error {
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
	change(a)
	return k.put(*a)
}

// Login is an access token with its end, and the opaque token that renews it.
type Login struct {
	User    User
	Access  string
	Expires time.Time
	Refresh string
}

// Origin is where a log-in comes from: the address, and what the browser calls itself.
type Origin struct{ Address, Device string }

// Login is LoginFrom for a device without a name.
func (k *Keeper) Login(name, password, address string) (Login, error) {
	return k.LoginFrom(name, password, Origin{Address: address})
}

// LoginFrom checks a password. The same account and address are made to wait after repeated failures.
//
// Refuses: ErrLogin, ErrTooMany, ErrRevoked; ErrBusy when too many passwords wait to be checked.
func (k *Keeper) LoginFrom(name, password string, from Origin) (Login, error) {
	slots := []string{"name " + nameKey(name), "address " + from.Address}
	if k.waiting(slots) {
		return Login{}, ErrTooMany
	}
	a, err := k.account(name)
	if err != nil {
		return Login{}, err
	}
	hash := decoy
	if a != nil {
		hash = a.Hash
	}
	if !k.hashing.enter() {
		return Login{}, ErrBusy
	}
	right, weak, err := checkPassword(hash, password)
	k.hashing.leave()
	if err != nil {
		return Login{}, err
	}
	if a == nil || !right {
		k.failed(slots)
		return Login{}, ErrLogin
	}
	if a.Revoked {
		return Login{}, ErrRevoked
	}
	k.mu.Lock()
	delete(k.failures, slots[0])
	k.mu.Unlock()
	if weak { // made anew at today's cost, unless too many wait
		hash, err := k.hash(password)
		if err == nil {
			a.Hash = hash
			err = k.put(*a)
		}
		if err != nil && !errors.Is(err, ErrBusy) {
			return Login{}, err
		}
	}
	if err := k.thin(a.ID); err != nil {
		return Login{}, err
	}
	secret := make([]byte, 32)
	if _, err := rand.Read(secret); err != nil {
		return Login{}, err
	}
	token := base64.RawURLEncoding.EncodeToString(secret)
	if err := k.keepLogin(token, login{User: a.ID, Name: a.Name, Made: k.now(), Device: short(from.Device)}); err != nil {
		return Login{}, err
	}
	return k.access(a.User, token)
}

// Refresh renews an access token; each use moves the end of the log-in 90 days on.
func (k *Keeper) Refresh(token string) (Login, error) {
	k.logins.Lock()
	defer k.logins.Unlock()
	b, err := k.refresh.Get(digest(token))
	if err != nil {
		return Login{}, err
	}
	var l login
	if b == nil || json.Unmarshal(b, &l) != nil || k.now().Sub(l.Seen) > refreshLife {
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
	if err := k.keepLogin(token, l); err != nil {
		return Login{}, err
	}
	return k.access(a.User, token)
}

type claims struct {
	Name  string `json:"name"`
	Login string `json:"sid"` // names the log-in, as sessionName does
	jwt.RegisteredClaims
}

func (k *Keeper) access(u User, refresh string) (Login, error) {
	end := k.now().Add(accessLife)
	t := jwt.NewWithClaims(jwt.SigningMethodHS256, claims{u.Name, sessionName(digest(refresh)), jwt.RegisteredClaims{Issuer: k.issuer, Subject: u.ID,
		Audience: jwt.ClaimStrings{audience}, ExpiresAt: jwt.NewNumericDate(end)}})
	t.Header["typ"] = tokenType
	s, err := t.SignedString(k.key)
	if err != nil {
		return Login{}, err
	}
	return Login{User: u, Access: s, Expires: end, Refresh: refresh}, nil
}

// Who returns the user of an access token.
//
// Refuses: ErrToken for anything but a current token of this store (RFC 8725: algorithm, type, issuer and audience are checked);
// ErrRevoked with the user for a genuine token of a revoked account, current or not, so that its unsent work can be put aside.
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
	if there, err := k.hasSession(c.Login); err != nil || !there {
		return User{}, errors.Join(err, ErrToken) // ended by its owner, a new password or a logout
	}
	return a.User, nil
}

func (k *Keeper) waiting(slots []string) bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, s := range slots {
		if f := k.failures[s]; k.now().Before(f.until) {
			return true
		}
	}
	return false
}

func (k *Keeper) failed(slots []string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	const free, most = 5, 10 // five free tries, then 1, 2, 4 … s, at most about four minutes
	for s, f := range k.failures {
		if k.now().Sub(f.until) > time.Hour {
			delete(k.failures, s)
		}
	}
	for _, s := range slots {
		f := k.failures[s]
		f.count++
		f.until = k.now()
		if f.count >= free {
			f.until = k.now().Add(time.Second << min(f.count-free, most-2))
		}
		k.failures[s] = f
	}
}

// MayWrite says why a user of a role may not write a change, or nil.
func MayWrite(u User, c *change.Change) error {
	if c.Author != u.ID {
		return errors.New("the change names another author")
	}
	if u.Role == Hub {
		return errors.New("a hub writes nothing of its own")
	}
	if u.Role == Administrator || u.Role == Reviewer && c.Kind != "person" && c.Kind != "site" {
		return nil
	}
	for _, s := range c.Set {
		name, _, _ := strings.Cut(s.Field, ".")
		if !slices.Contains(technicians[c.Kind], name) && !(slices.Contains(technicians[c.Kind], "*") && !slices.Contains(office, name)) {
			return fmt.Errorf("a %s may not write the field %s of a record of kind %s", u.Role, s.Field, c.Kind)
		}
		if c.Kind == "method" && s.Field != "draft."+u.ID {
			return fmt.Errorf("a %s may write a draft of their own only, not the field %s of a method", u.Role, s.Field)
		}
	}
	return nil
}

// decided refuses a decision of the office that a person brings: approving and returning go through the office's own routes, which hold them
// against what was signed. A hub brings decisions that were made by those routes.
func decided(c *change.Change) error {
	for _, s := range c.Set {
		if name, _, _ := strings.Cut(s.Field, "."); c.Kind == "visit" && slices.Contains(office, name) {
			return fmt.Errorf("the field %s is written by the office's own routes only", s.Field)
		}
	}
	return nil
}

// Judge returns what says why a sender may not bring a change, or nil. A person brings their own; a hub brings everybody's, each judged by its
// author's account here, so that a hub's account is to be trusted as much as its users together.
func (k *Keeper) Judge(sender User) (func(*change.Change) error, error) {
	if sender.Role != Hub {
		return func(c *change.Change) error {
			if err := MayWrite(sender, c); err != nil {
				return err
			}
			return decided(c)
		}, nil
	}
	list, err := k.Users()
	if err != nil {
		return nil, err
	}
	accounts := map[string]User{}
	for _, u := range list {
		accounts[u.ID] = u
	}
	return func(c *change.Change) error {
		u, known := accounts[c.Author]
		switch {
		case !known:
			return errors.New("its author has no account here")
		case u.Revoked:
			return ErrRevoked
		}
		return MayWrite(u, c)
	}, nil
}

// JudgeFile returns what says why a change out of a file that somebody of the office brings may not be taken, or nil: each is judged by its
// author's account, and the office's decisions are not taken from a file.
func (k *Keeper) JudgeFile() (func(*change.Change) error, error) {
	judge, err := k.Judge(User{Role: Hub})
	if err != nil {
		return nil, err
	}
	return func(c *change.Change) error {
		if err := judge(c); err != nil {
			return err
		}
		return decided(c)
	}, nil
}

// technicians lists the fields a technician may write, by kind; * is every field but the office's.
var technicians = map[string][]string{"visit": {"*"}, "run": {"*"}, "instrument": {"place", "note"}, "method": {"draft"}}

// office lists the fields of a visit that only the office writes.
var office = []string{"approval", "returned", "reopened", "check"}
