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
)

// login is a log-in as it is kept, under the digest of its refresh token.
type login struct {
	User   string    `json:"user"`
	Name   string    `json:"name"`
	Made   time.Time `json:"made"`
	Seen   time.Time `json:"seen"`
	Device string    `json:"device"`
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

func digest(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// sessionName names a log-in in its access tokens, which go over the line with every request: 128 bits of the digest.
func sessionName(key string) string {
	b, err := hex.DecodeString(key)
	if err != nil || len(b) < sessionBytes {
		return ""
	}
	return base64.RawURLEncoding.EncodeToString(b[:sessionBytes])
}

// hasSession says whether a log-in of that name is kept.
func (k *Keeper) hasSession(name string) (bool, error) {
	b, err := base64.RawURLEncoding.DecodeString(name)
	if err != nil || len(b) != sessionBytes {
		return false, nil
	}
	return k.refresh.Has(hex.EncodeToString(b))
}

func short(device string) string {
	return strings.ToValidUTF8(device[:min(len(device), maxDevice)], "")
}

func (k *Keeper) keepLogin(token string, l login) error {
	l.Seen = k.now()
	b, err := json.Marshal(l)
	if err != nil {
		return err
	}
	return k.refresh.Put(digest(token), b)
}

// kept is a log-in with its key.
type kept struct {
	key string
	login
}

// loginsOf returns a user's log-ins, the last used first. What cannot be read counts as everybody's, so that it is ended.
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

func (k *Keeper) endWhere(user string, ends func(i int, l kept) bool) (ended int, err error) {
	k.logins.Lock()
	defer k.logins.Unlock()
	list, err := k.loginsOf(user)
	for i, l := range list {
		if ends(i, l) {
			ended++
			err = errors.Join(err, k.refresh.Delete(l.key))
		}
	}
	return ended, err
}

func (k *Keeper) endLogins(user string) error {
	_, err := k.endWhere(user, func(int, kept) bool { return true })
	return err
}

// thin makes room for one more log-in: those that have run out go, and those beyond the bound.
func (k *Keeper) thin(user string) error {
	_, err := k.endWhere(user, func(i int, l kept) bool { return i >= maxSessions-1 || k.now().Sub(l.Seen) > refreshLife })
	return err
}

// Sessions returns a user's log-ins, the last used first; token is the refresh token of the one that asks, or "".
func (k *Keeper) Sessions(user, token string) ([]Session, error) {
	list, err := k.loginsOf(user)
	if err != nil {
		return nil, err
	}
	sessions := []Session{}
	for _, l := range list {
		if k.now().Sub(l.Seen) <= refreshLife {
			sessions = append(sessions, Session{ID: l.key[:sessionDigits], Made: l.Made.UTC(), Seen: l.Seen.UTC(), Device: l.Device, This: l.key == digest(token)})
		}
	}
	return sessions, nil
}

// EndSession ends one of a user's log-ins. Its access token dies with it.
//
// Refuses: ErrNoLogin, also where the log-in is another user's.
func (k *Keeper) EndSession(user, id string) error {
	n, err := k.endWhere(user, func(_ int, l kept) bool { return l.key[:sessionDigits] == id })
	if err == nil && n == 0 {
		return fmt.Errorf("%w: %q", ErrNoLogin, id)
	}
	return err
}

// EndOtherSessions ends all of a user's log-ins but the one of a refresh token.
func (k *Keeper) EndOtherSessions(user, token string) error {
	_, err := k.endWhere(user, func(_ int, l kept) bool { return l.key != digest(token) })
	return err
}

// Logout ends one log-in.
func (k *Keeper) Logout(token string) error { return k.refresh.Delete(digest(token)) }
