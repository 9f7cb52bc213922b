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

// login is a log-in as it is kept, under the digest of its refresh token.
type login struct {
	User   string    `json:"user"`
	Name   string    `json:"name"`
	Made   time.Time `json:"made"`
	Seen   time.Time `json:"seen"`
	Device string    `json:"device"`
	// Browser names the browser, by the mark that it keeps; "" where it keeps none.
	Browser string `json:"browser,omitempty"`
	// Vouched says that a provider vouched for its person.
	Vouched bool `json:"vouched,omitempty"`
	// Session names the log-in at the provider, "" where it did not say.
	Session string `json:"session,omitempty"`
	// Secret is the digest of the present refresh token, Before of the one before it. Turns counts the
	// renewals, and Turned is when the last one was.
	Secret string    `json:"secret"`
	Before string    `json:"before"`
	Turns  uint64    `json:"turns"`
	Turned time.Time `json:"turned"`
}

// Session is one of a user's log-ins, as it is shown to them.
type Session struct {
	ID     string    `json:"id"`
	Made   time.Time `json:"made"`
	Seen   time.Time `json:"seen"`
	Device string    `json:"device"`
	This   bool      `json:"this"` // the one that asks
}

const (
	sessionDigits = 16  // of the digest, to name a log-in to its owner
	sessionBytes  = 16  // of the digest, to name it in a token
	maxSessions   = 50  // of one account; the one that was longest unused makes room
	maxDevice     = 200 // bytes kept of what a browser calls itself
)

// ErrNoLogin is returned when an account has no such log-in.
var ErrNoLogin = errors.New("there is no such log-in")

// A refresh token is a log-in's name, which stays, and a secret, which each renewal replaces.
const tokenParts = "."

// digest is what a log-in is kept under.
func digest(token string) string {
	name, _, _ := strings.Cut(token, tokenParts)
	return secretDigest(name)
}

func secretDigest(of string) string {
	sum := sha256.Sum256([]byte(of))
	return hex.EncodeToString(sum[:])
}

// sessionName names a log-in in its access tokens, which go over the line with every request: 128
// bits of the digest.
func sessionName(key string) string {
	b, err := hex.DecodeString(key)
	if err != nil || len(b) < sessionBytes {
		return ""
	}
	return base64.RawURLEncoding.EncodeToString(b[:sessionBytes])
}

// session returns the log-in of that name, if it is kept.
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

// stepsOf returns what goes with something that was done to a user.
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

// over says whether a log-in has run out: unused for long, or old.
func (k *Keeper) over(l login) bool {
	return k.now().Sub(l.Seen) > refreshLife || k.now().Sub(l.Made) > loginLife
}

// kept is a log-in with its key.
type kept struct {
	key string
	login
}

// loginsOf returns a user's log-ins, the last used first. What cannot be read counts as
// everybody's, so that it is ended.
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

// endWhere ends some of a user's log-ins, in one transaction with what goes with it; where none
// ends, that is written alone.
func (k *Keeper) endWhere(user string, ends func(i int, l kept) bool, more ...store.Step) (ended int, err error) {
	k.logins.Lock()
	defer k.logins.Unlock()
	return k.endSome(user, ends, more...)
}

// endSome is endWhere for whoever holds the lock of the log-ins.
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

// thin makes room for one more log-in: those that have run out go, and those beyond the bound.
func (k *Keeper) thin(user string) error {
	_, err := k.endSome(user, func(i int, l kept) bool { return i >= maxSessions-1 || k.over(l.login) })
	return err
}

// Sessions returns a user's log-ins, the last used first; token is the refresh token of the one
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
// Refuses: ErrNoLogin, also where the log-in is another user's.
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

// EndOtherSessions ends all of a user's log-ins but the one of a refresh token.
func (k *Keeper) EndOtherSessions(user, token string, more ...store.Step) error {
	_, err := k.endWhere(user, func(_ int, l kept) bool { return l.key != digest(token) }, more...)
	return err
}

// Logout ends one log-in, with what goes with it for its user.
func (k *Keeper) Logout(token string, with ...func(user string) store.Step) error {
	k.logins.Lock()
	defer k.logins.Unlock()
	b, err := k.refresh.Get(digest(token))
	if err != nil || b == nil {
		return err
	}
	var l login
	if err := json.Unmarshal(b, &l); err != nil {
		l.User = "" // a damaged one is ended all the same
	}
	return k.refresh.Delete(digest(token), stepsOf(l.User, with)...)
}
