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

// Purpose is what a challenge to a passkey is for; its answer is valid for that only.
type Purpose string

// The purposes: adding a passkey, a passkey after a password, and a passkey alone.
const (
	Adding Purpose = "add"
	After  Purpose = "after"
	Alone  Purpose = "alone"
)

// ceremonies seals each ceremony into a token instead of storing it, so that strangers cannot fill
// the memory, and remembers the answered ones until they would have expired. Its key belongs to
// this process: a ceremony from before a restart has to begin again.
type ceremonies struct {
	key   []byte
	mu    sync.Mutex
	spent map[string]time.Time
}

// ceremonyLife is how long a person has to find their key.
const ceremonyLife = 5 * time.Minute

// ceremonyOf is the state of a ceremony. Password is the hash of the password given before it, so
// that a change of the password invalidates the ceremony.
type ceremonyOf struct {
	Purpose  Purpose              `json:"purpose"`
	User     string               `json:"user"`
	Password string               `json:"password"`
	Session  webauthn.SessionData `json:"session"`
	Begun    time.Time            `json:"begun"`
}

// begun seals a ceremony for its way through the browser; the hash of the password stays here.
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

// read opens a ceremony that was begun here for one of the purposes and has not expired.
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

// spend reports whether this is the first answer to a challenge.
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

// Refused is the error of a refused log-in to a known account; it carries the user.
type Refused struct {
	User User
	Why  error
}

// Error returns the reason.
func (r *Refused) Error() string { return r.Why.Error() }

// Unwrap returns the reason.
func (r *Refused) Unwrap() error { return r.Why }

// Counter is the ErrCounter of a passkey whose counter did not advance, with both counts.
type Counter struct {
	Name      string
	Was, Came uint32
}

// Error returns the text of ErrCounter.
func (*Counter) Error() string { return ErrCounter.Error() }

// Unwrap returns ErrCounter.
func (*Counter) Unwrap() error { return ErrCounter }

// Detail describes the counts for the event log.
func (c *Counter) Detail() string {
	return fmt.Sprintf("%s: the counter was %d and came as %d", c.Name, c.Was, c.Came)
}

// BeginPasskeyLogin begins a log-in with a passkey: as second factor if a name and password are
// given, otherwise alone. Alone, the passkey has to verify its person (finger, face or number).
//
// Gives:   the request for the browser, and the ceremony that returns with its answer.
// Refuses: ErrNoPasskeys; what LoginFrom refuses of a password; ErrNoPasskey if the account has
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

// LoginByPasskey ends what BeginPasskeyLogin began. It checks the signature of the passkey, that
// the ceremony is answered for the first time, and that the counter advanced.
//
// Refuses: ErrSpent, ErrPasskey, ErrUnknownPasskey, ErrCounter, ErrRevoked and ErrUninvited,
// wrapped in a Refused if the account is known; a Wait.
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

// keyOf returns the index of the passkey with an id, or -1.
func (a *account) keyOf(id []byte) int {
	return slices.IndexFunc(a.Passkeys, func(p passkey) bool { return slices.Equal(p.Key.ID, id) })
}

// signed returns the account and the id of the passkey that answered a log-in ceremony, and notes
// that the passkey was used.
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

// check verifies the answer of one of the account's passkeys and advances its counter.
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

// giveRecovery gives an account new recovery codes.
func (a *account) giveRecovery() (codes []string) {
	a.Recovery = nil
	for range recoveryCodes {
		one := newCode()
		codes, a.Recovery = append(codes, one), append(a.Recovery, secretDigest(plainCode(one)))
	}
	return codes
}

// dropRecovery removes the recovery codes of an account that has no second factor left.
func (a *account) dropRecovery() {
	if !a.hasCodes() && len(a.Passkeys) == 0 {
		a.Recovery = nil
	}
}

// EndSecond removes every second factor of a user who lost their devices: the device that shows
// codes, the passkeys and the recovery codes.
//
// Refuses: ErrInput for an unknown account; ErrFactor if it has no second factor.
func (k *Keeper) EndSecond(id string, more ...store.Step) error {
	return k.changeIf(id, func(a *account) error {
		if a.Factor == nil && len(a.Passkeys) == 0 {
			return ErrFactor
		}
		a.Factor, a.Passkeys, a.Recovery = nil, nil, nil
		return nil
	}, more...)
}
