package auth

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"gaugewright/sync/store"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"
)

// Purpose is what a challenge to a passkey is for; an answer serves that and nothing else.
type Purpose string

// The purposes: a passkey is added; it is asked for after a password; it logs in alone.
const (
	Adding Purpose = "add"
	After  Purpose = "after"
	Alone  Purpose = "alone"
)

// ceremonies seals what was begun, so that nothing is kept of what strangers begin, and remembers
// what was answered until it would be too old anyhow. Its key is of this process: what was begun
// before a restart is begun again.
type ceremonies struct {
	key   []byte
	mu    sync.Mutex
	spent map[string]time.Time
}

// ceremonyLife is how long somebody may look for their key.
const ceremonyLife = 5 * time.Minute

// ceremonyOf is what was begun. Password is the hash of the password that was given before, so that
// another password in between ends it.
type ceremonyOf struct {
	Purpose  Purpose              `json:"purpose"`
	User     string               `json:"user"`
	Password string               `json:"password"`
	Session  webauthn.SessionData `json:"session"`
	Begun    time.Time            `json:"begun"`
}

// begun seals a ceremony for its way through the browser: the hash of the password stays here.
func (c *ceremonies) begun(of ceremonyOf) (string, error) {
	of.Password = secretDigest(of.Password)
	b, err := json.Marshal(of)
	if err != nil {
		return "", err
	}
	text := base64.RawURLEncoding.EncodeToString(b)
	return text + tokenParts + base64.RawURLEncoding.EncodeToString(c.sum(text)), nil
}

func (c *ceremonies) sum(text string) []byte {
	h := hmac.New(sha256.New, c.key)
	h.Write([]byte(text))
	return h.Sum(nil)
}

// read returns a ceremony that was begun here for one of some purposes and is not too old.
//
// Refuses: ErrSpent.
func (c *ceremonies) read(text string, now time.Time, purposes ...Purpose) (of ceremonyOf, err error) {
	body, sealed, _ := strings.Cut(text, tokenParts)
	sum, err := base64.RawURLEncoding.DecodeString(sealed)
	if err != nil || !hmac.Equal(sum, c.sum(body)) {
		return ceremonyOf{}, ErrSpent
	}
	b, err := base64.RawURLEncoding.DecodeString(body)
	if err != nil || json.Unmarshal(b, &of) != nil {
		return ceremonyOf{}, ErrSpent
	}
	if age := now.Sub(of.Begun); !slices.Contains(purposes, of.Purpose) || age < 0 || age > ceremonyLife {
		return ceremonyOf{}, ErrSpent
	}
	return of, nil
}

// spend says whether a challenge is answered for the first time.
func (c *ceremonies) spend(of ceremonyOf, now time.Time) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	for k, at := range c.spent {
		if now.Sub(at) > ceremonyLife {
			delete(c.spent, k)
		}
	}
	if _, was := c.spent[of.Session.Challenge]; was {
		return false
	}
	c.spent[of.Session.Challenge] = of.Begun
	return true
}

// Refused is a log-in that was refused to an account which is known: an error with its user.
type Refused struct {
	User User
	Why  error
}

// Error returns the reason.
func (r *Refused) Error() string { return r.Why.Error() }

// Unwrap returns the reason.
func (r *Refused) Unwrap() error { return r.Why }

// Counter is returned where a passkey's counter did not go on: an ErrCounter with what it was.
type Counter struct {
	Name      string
	Was, Came uint32
}

// Error returns the sentence.
func (*Counter) Error() string { return ErrCounter.Error() }

// Unwrap returns ErrCounter.
func (*Counter) Unwrap() error { return ErrCounter }

// Detail says it for the event log.
func (c *Counter) Detail() string {
	return fmt.Sprintf("%s: the counter was %d and came as %d", c.Name, c.Was, c.Came)
}

// BeginPasskeyLogin begins a log-in by a passkey: after a name and its password where they are
// given, or else by a passkey alone, which then has to see its person (a finger, a face, a number).
//
// Gives:   what the browser is asked for, and the ceremony that goes back with its answer.
// Refuses: ErrNoPasskeys; what LoginFrom refuses of a password; ErrNoPasskey where the account has
// none.
func (k *Keeper) BeginPasskeyLogin(in Entry, from Origin) (options any, ceremony string, err error) {
	if k.passkeys == nil {
		return nil, "", ErrNoPasskeys
	}
	if in.Name == "" && in.Password == "" {
		ask, session, err := k.passkeys.BeginDiscoverableLogin(
			webauthn.WithUserVerification(protocol.VerificationRequired),
		)
		if err != nil {
			return nil, "", err
		}
		ceremony, err = k.passkeys.begun(ceremonyOf{Purpose: Alone, Session: *session, Begun: k.now()})
		return ask.Response, ceremony, err
	}
	counted := slots(in.Name, from, k.known(in.Name, from.Marks))
	a, err := k.first(Entry{Name: in.Name, Password: in.Password}, counted)
	if err != nil {
		return nil, "", err
	}
	if len(a.Passkeys) == 0 {
		return nil, "", ErrNoPasskey
	}
	ask, session, err := k.passkeys.BeginLogin(
		holder{a}, webauthn.WithUserVerification(protocol.VerificationPreferred),
	)
	if err != nil {
		return nil, "", err
	}
	ceremony, err = k.passkeys.begun(ceremonyOf{After, a.ID, a.Hash, *session, k.now()})
	return ask.Response, ceremony, err
}

// LoginByPasskey ends what BeginPasskeyLogin began: it checks what the passkey signed, once, and
// that its counter went on.
//
// Refuses: ErrSpent, ErrPasskey, ErrUnknownPasskey, ErrCounter, ErrRevoked, ErrUninvited, in a
// Refused where the account is known; a Wait.
func (k *Keeper) LoginByPasskey(ceremony string, answer []byte, from Origin) (Login, error) {
	if k.passkeys == nil {
		return Login{}, ErrNoPasskeys
	}
	counted := []slot{{"address " + from.Address, freeTries}}
	if long := k.tries.wait(counted, k.now()); long > 0 {
		return Login{}, &Wait{long}
	}
	a, key, err := k.signed(ceremony, answer)
	if err != nil {
		k.tries.failed(counted, k.now())
		return Login{}, err
	}
	k.tries.passed(slots(a.Name, from, k.known(a.Name, from.Marks)))
	return k.begin(a, from, func(now *account) error {
		return errIf(now.keyOf(key) < 0, ErrUnknownPasskey, nil)
	})
}

// keyOf returns which of an account's passkeys has an id, -1 where none has.
func (a *account) keyOf(id []byte) int {
	return slices.IndexFunc(a.Passkeys, func(p passkey) bool { return slices.Equal(p.Key.ID, id) })
}

// signed returns whose passkey answered a ceremony of a log-in, with its id, and notes that it was
// used.
func (k *Keeper) signed(ceremony string, answer []byte) (who *account, key []byte, err error) {
	c, err := k.passkeys.read(ceremony, k.now(), After, Alone)
	if err != nil {
		return nil, nil, err
	}
	parsed, err := protocol.ParseCredentialRequestResponseBytes(answer)
	if err != nil {
		return nil, nil, notHeld(err)
	}
	id := c.User
	if c.Purpose == Alone {
		id = string(parsed.Response.UserHandle)
	}
	if _, err := k.nameOf(id); errors.Is(err, ErrInput) {
		return nil, nil, ErrUnknownPasskey
	} else if err != nil {
		return nil, nil, err
	}
	err = k.changeIf(id, func(a *account) error {
		who = a
		return k.passkeys.check(a, c, parsed, k.now())
	})
	switch {
	case err != nil && who != nil:
		return nil, nil, &Refused{who.User, err}
	case err != nil:
		return nil, nil, err
	}
	return who, parsed.RawID, nil
}

// check checks an answer of one of an account's passkeys, and moves its counter on.
func (r *relying) check(
	a *account, c ceremonyOf, parsed *protocol.ParsedCredentialAssertionData, now time.Time,
) error {
	i := a.keyOf(parsed.RawID)
	switch {
	case i < 0:
		return ErrUnknownPasskey
	case a.Revoked:
		return ErrRevoked
	case c.Purpose == Alone && a.Hash == "":
		return ErrUninvited
	case c.Purpose == After && secretDigest(a.Hash) != c.Password:
		return ErrSpent
	}
	var key *webauthn.Credential
	var err error
	if c.Purpose == Alone {
		_, key, err = r.ValidatePasskeyLogin(
			func(_, _ []byte) (webauthn.User, error) { return holder{a}, nil }, c.Session, parsed,
		)
	} else {
		key, err = r.ValidateLogin(holder{a}, c.Session, parsed)
	}
	switch {
	case err != nil:
		return notHeld(err)
	case !r.spend(c, now):
		return ErrSpent
	case key.Authenticator.CloneWarning:
		was, came := a.Passkeys[i].Key.Authenticator.SignCount, parsed.Response.AuthenticatorData.Counter
		return &Counter{a.Passkeys[i].Name, was, came}
	}
	a.Passkeys[i].Key, a.Passkeys[i].Used = *key, now.UTC()
	return nil
}

// giveRecovery gives an account new codes for the day its second factors are lost.
func (a *account) giveRecovery() (codes []string) {
	a.Recovery = nil
	for range recoveryCodes {
		one := newCode()
		codes, a.Recovery = append(codes, one), append(a.Recovery, secretDigest(plainCode(one)))
	}
	return codes
}

// dropRecovery takes the codes of an account away that has no second factor left.
func (a *account) dropRecovery() {
	if !a.hasCodes() && len(a.Passkeys) == 0 {
		a.Recovery = nil
	}
}

// EndSecond takes every second factor of somebody away, whose devices are lost: the device that
// shows codes, the passkeys, the codes on paper.
//
// Refuses: ErrInput for an unknown account; ErrFactor where there is none.
func (k *Keeper) EndSecond(id string, more ...store.Step) error {
	return k.changeIf(id, func(a *account) error {
		if a.Factor == nil && len(a.Passkeys) == 0 {
			return ErrFactor
		}
		a.Factor, a.Passkeys, a.Recovery = nil, nil, nil
		return nil
	}, more...)
}
