package auth

import (
	"cmp"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"gaugewright/sync/store"
)

// login is a stored log-in; its key is the digest of its refresh token.
type login struct {
	User   string    `json:"user"`
	Name   string    `json:"name"`
	Made   time.Time `json:"made"`
	Seen   time.Time `json:"seen"`
	Device string    `json:"device"`
	// Browser names the browser by the mark it keeps; "" if it keeps none.
	Browser string `json:"browser,omitempty"`
	// Vouched is true if a provider vouched for the user.
	Vouched bool `json:"vouched,omitempty"`
	// Session names the log-in at the provider, or is "" if the provider did not name it.
	Session string `json:"session,omitempty"`
	// Secret is the digest of the present refresh token, Before of the previous one. Turns counts
	// the renewals, and Turned is the time of the last.
	Secret string    `json:"secret"`
	Before string    `json:"before"`
	Turns  uint64    `json:"turns"`
	Turned time.Time `json:"turned"`
}

// Session is a log-in as it is shown to its user.
type Session struct {
	ID     string    `json:"id"`
	Made   time.Time `json:"made"`
	Seen   time.Time `json:"seen"`
	Device string    `json:"device"`
	This   bool      `json:"this"` // true for the log-in that asks
}

const (
	sessionDigits = 16  // of the digest, to name a log-in to its owner
	sessionBytes  = 16  // of the digest, to name it in a token
	maxSessions   = 50  // of one account; beyond that the longest unused one goes
	maxDevice     = 200 // bytes kept of the browser's description of itself
)

// ErrNoLogin is returned when an account has no such log-in.
var ErrNoLogin = errors.New("there is no such log-in")

// A refresh token is the fixed name of its log-in and a secret that each renewal replaces.
const tokenParts = "."

// digest is the key under which a log-in is stored.
func digest(token string) string {
	name, _, _ := strings.Cut(token, tokenParts)
	return secretDigest(name)
}

func secretDigest(of string) string {
	sum := sha256.Sum256([]byte(of))
	return hex.EncodeToString(sum[:])
}

// sessionName names a log-in in its access tokens by 128 bits of the digest: they are sent with
// every request.
func sessionName(key string) string {
	b, err := hex.DecodeString(key)
	if err != nil || len(b) < sessionBytes {
		return ""
	}
	return base64.RawURLEncoding.EncodeToString(b[:sessionBytes])
}

// session returns the log-in with a name, if there is one.
func (k *Keeper) session(name string) (l login, there bool, err error) {
	b, err := base64.RawURLEncoding.DecodeString(name)
	if err != nil || len(b) != sessionBytes {
		return login{}, false, nil
	}
	v, err := k.refresh.Find(hex.EncodeToString(b))
	if err != nil || v == nil {
		return login{}, false, err
	}
	return l, json.Unmarshal(v, &l) == nil, nil
}

func short(device string) string {
	return strings.ToValidUTF8(device[:min(len(device), maxDevice)], "")
}

// stepsOf returns the steps to run with a change of a user.
func stepsOf(user string, with []func(string) store.Step) (steps []store.Step) {
	for _, f := range with {
		steps = append(steps, f(user))
	}
	return steps
}

func (k *Keeper) keepLogin(token string, l login, more ...store.Step) error {
	l.Seen = k.now()
	l.Secret = secretDigest(token)
	b, err := json.Marshal(l)
	if err != nil {
		return err
	}
	return k.refresh.Put(digest(token), b, more...)
}

// over reports whether a log-in has expired, by disuse or by age.
func (k *Keeper) over(l login) bool {
	return k.now().Sub(l.Seen) > refreshLife || k.now().Sub(l.Made) > loginLife
}

// kept is a log-in with its key.
type kept struct {
	key string
	login
}

// loginsOf returns a user's log-ins, the last used first. A log-in that cannot be read counts as
// every user's, so that it gets ended.
func (k *Keeper) loginsOf(user string) (list []kept, err error) {
	err = k.refresh.Each(func(key string, v []byte) error {
		var l login
		if err := json.Unmarshal(v, &l); err != nil || l.User == user {
			list = append(list, kept{key, l})
		}
		return nil
	})
	slices.SortFunc(list, func(a, b kept) int { return cmp.Or(b.Seen.Compare(a.Seen), cmp.Compare(a.key, b.key)) })
	return list, err
}

// endWhere ends some of a user's log-ins and runs more in the same transaction, even if no log-in
// ends.
func (k *Keeper) endWhere(user string, ends func(i int, l kept) bool, more ...store.Step) (ended int, err error) {
	free, err := k.logins.lock()
	if err != nil {
		return 0, err
	}
	defer free()
	return k.endSome(user, ends, more...)
}

// endSome is endWhere for a caller that holds the lock of the log-ins.
func (k *Keeper) endSome(user string, ends func(i int, l kept) bool, more ...store.Step) (ended int, err error) {
	list, err := k.loginsOf(user)
	if err != nil {
		return 0, err
	}
	var steps []store.Step
	for i, l := range list {
		if ends(i, l) {
			ended++
			steps = append(steps, k.refresh.Deleting(l.key))
		}
	}
	if steps = append(steps, more...); len(steps) == 0 {
		return 0, nil
	}
	return ended, k.keep(steps...)
}

// thin makes room for one more log-in: it removes the expired ones and those beyond the bound.
func (k *Keeper) thin(user string) error {
	_, err := k.endSome(user, func(i int, l kept) bool { return i >= maxSessions-1 || k.over(l.login) })
	return err
}

// Sessions returns a user's log-ins, the last used first; token is the refresh token of the log-in
// that asks, or "".
func (k *Keeper) Sessions(user, token string) ([]Session, error) {
	list, err := k.loginsOf(user)
	if err != nil {
		return nil, err
	}
	sessions := []Session{}
	for _, l := range list {
		if !k.over(l.login) {
			sessions = append(
				sessions,
				Session{
					ID: l.key[:sessionDigits], Made: l.Made.UTC(), Seen: l.Seen.UTC(), Device: l.Device,
					This: l.key == digest(token),
				},
			)
		}
	}
	return sessions, nil
}

// EndSession ends one of a user's log-ins. Its access token dies with it.
//
// Refuses: ErrNoLogin, also if the log-in is another user's.
func (k *Keeper) EndSession(user, id string, more ...store.Step) error {
	is := func(_ int, l kept) bool { return l.key[:sessionDigits] == id }
	list, err := k.loginsOf(user)
	if err == nil && !slices.ContainsFunc(list, func(l kept) bool { return is(0, l) }) {
		err = fmt.Errorf("%w: %q", ErrNoLogin, id)
	}
	if err != nil {
		return err
	}
	_, err = k.endWhere(user, is, more...)
	return err
}

// EndOtherSessions ends all of a user's log-ins except the one with a refresh token.
func (k *Keeper) EndOtherSessions(user, token string, more ...store.Step) error {
	_, err := k.endWhere(user, func(_ int, l kept) bool { return l.key != digest(token) }, more...)
	return err
}

// Logout ends one log-in and runs with for its user in the same transaction.
func (k *Keeper) Logout(token string, with ...func(user string) store.Step) error {
	free, err := k.logins.lock()
	if err != nil {
		return err
	}
	defer free()
	b, err := k.refresh.Get(digest(token))
	if err != nil || b == nil {
		return err
	}
	var l login
	if err := json.Unmarshal(b, &l); err != nil {
		l.User = "" // a damaged log-in is ended as well
	}
	return k.refresh.Delete(digest(token), stepsOf(l.User, with)...)
}
