package auth

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"gaugewright/sync/store"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"
)

// passkey is a key on a person's device or token that signs a challenge for this server only (Web
// Authentication, level 3). The server stores its public half.
type passkey struct {
	Passkey
	Key webauthn.Credential `json:"key"`
}

// Passkey is a passkey as it is shown to its owner.
type Passkey struct {
	ID   string    `json:"id"`
	Name string    `json:"name"`
	Made time.Time `json:"made"`
	Used time.Time `json:"used,omitzero"` // zero if it was never used
}

const (
	maxPasskeys    = 10
	maxPasskeyName = 64
	passkeyIDBytes = 12
)

var (
	// ErrNoPasskeys is returned if the server's address for browsers is not configured, or passkeys
	// cannot be bound to it.
	ErrNoPasskeys = errors.New("this server is not set up for passkeys")
	// ErrPasskey is wrapped when the answer of a passkey is not valid.
	ErrPasskey = errors.New("the passkey was not accepted")
	// ErrUnknownPasskey is returned for a passkey that no account has, or no longer has.
	ErrUnknownPasskey = errors.New("this passkey is not known here; it may have been removed")
	// ErrCounter is the error in a Counter: a passkey's counter went back.
	ErrCounter = errors.New("the counter of this passkey went back; there may be a copy of it")
	// ErrSpent is returned for a challenge that was answered, has expired, or is another's.
	ErrSpent = errors.New("this attempt has run out or was used already; try again")
	// ErrUninvited is returned for a passkey alone if the account waits for a new password.
	ErrUninvited = errors.New("the office has given this account a new code; log in with the code first")
	// ErrNoPasskey is returned if an account has no such passkey.
	ErrNoPasskey = errors.New("there is no such passkey")
)

// relying is the site that passkeys are bound to; nil if there are none.
type relying struct {
	*webauthn.WebAuthn
	ceremonies
}

// UsePasskeys lets users log in with passkeys. They are bound to a domain and work only on pages of
// an origin; if domain is "", it is the origin's host. Call it before serving requests.
//
// Refuses: ErrInput for an address or a domain for which browsers make no passkeys.
func (k *Keeper) UsePasskeys(origin, domain string) error {
	u, err := url.Parse(origin)
	if err != nil || u.Host == "" {
		return fmt.Errorf("%w: %q is no origin", ErrInput, origin)
	}
	host := u.Hostname()
	if domain == "" {
		domain = host
	}
	if domain != host && !strings.HasSuffix(host, "."+domain) {
		return fmt.Errorf("%w: passkeys of %s cannot be used at %s", ErrInput, domain, host)
	}
	if err := protocol.ValidateRPID(domain); err != nil {
		return fmt.Errorf("%w: passkeys need the name of a host: %s: %w", ErrInput, domain, err)
	}
	w, err := webauthn.New(&webauthn.Config{
		RPID: domain, RPDisplayName: factorIssuer, RPOrigins: []string{origin},
		AttestationPreference: protocol.PreferNoAttestation,
	})
	if err != nil {
		return fmt.Errorf("%w: %w", ErrInput, err)
	}
	seal := make([]byte, 32)
	if _, err := rand.Read(seal); err != nil {
		return err
	}
	if k.logins.s.Shared() { // another server may get the answer to what this one began
		h := hmac.New(sha256.New, k.key)
		h.Write([]byte("gaugewright passkeys\n"))
		seal = h.Sum(nil)
	}
	k.passkeys = &relying{w, ceremonies{key: seal, spent: map[string]time.Time{}}}
	return nil
}

// TakesPasskeys reports whether users can log in with passkeys here.
func (k *Keeper) TakesPasskeys() bool { return k.passkeys != nil }

// holder is an account in the form the library asks for.
type holder struct{ *account }

// WebAuthnID is the id of the account, which reveals nothing about the person.
func (h holder) WebAuthnID() []byte { return []byte(h.ID) }

// WebAuthnName is what the browser lists the passkey under.
func (h holder) WebAuthnName() string { return h.Name }

// WebAuthnDisplayName is what the browser lists the passkey under.
func (h holder) WebAuthnDisplayName() string { return h.Name }

// WebAuthnCredentials are the public keys.
func (h holder) WebAuthnCredentials() (list []webauthn.Credential) {
	for _, p := range h.Passkeys {
		list = append(list, p.Key)
	}
	return list
}

// PasskeysOf lists a person's passkeys, the oldest first.
func (k *Keeper) PasskeysOf(u User) ([]Passkey, error) {
	a, err := k.account(u.Name)
	if err != nil || a == nil {
		return nil, errors.Join(err, errIf(a == nil, ErrToken, nil))
	}
	list := []Passkey{}
	for _, p := range a.Passkeys {
		list = append(list, p.Passkey)
	}
	return list, nil
}

// BeginPasskey begins a new passkey for a user who has just given their password.
//
// Gives:   the request for the browser, and the ceremony that returns with its answer.
// Refuses: ErrNoPasskeys; ErrInput if there are too many.
func (k *Keeper) BeginPasskey(u User) (options any, ceremony string, err error) {
	if k.passkeys == nil {
		return nil, "", ErrNoPasskeys
	}
	a, err := k.account(u.Name)
	if err != nil || a == nil {
		return nil, "", errors.Join(err, errIf(a == nil, ErrToken, nil))
	}
	if len(a.Passkeys) >= maxPasskeys {
		return nil, "", fmt.Errorf("%w: %d passkeys are the most; remove one first", ErrInput, maxPasskeys)
	}
	var has []protocol.CredentialDescriptor
	for _, p := range a.Passkeys {
		has = append(has, p.Key.Descriptor())
	}
	made, session, err := k.passkeys.BeginRegistration(holder{a},
		webauthn.WithExclusions(has),
		webauthn.WithAuthenticatorSelection(protocol.AuthenticatorSelection{
			ResidentKey: protocol.ResidentKeyRequirementPreferred, UserVerification: protocol.VerificationPreferred,
		}))
	if err != nil {
		return nil, "", err
	}
	ceremony, err = k.passkeys.begun(ceremonyOf{Adding, a.ID, a.Hash, *session, k.now()})
	return made.Response, ceremony, err
}

// FinishPasskey stores a passkey from the browser's answer; the user's other log-ins end.
//
// Gives:   recovery codes if the account had no second factor before; they are shown this once.
// Refuses: ErrSpent; ErrPasskey if the answer is not valid; ErrInput for a name that is not 1 to 64
// visible characters, or a passkey that an account has already.
func (k *Keeper) FinishPasskey(
	u User, name, ceremony string, answer []byte, token string, more ...store.Step,
) (recovery []string, err error) {
	if k.passkeys == nil {
		return nil, ErrNoPasskeys
	}
	name = strings.TrimSpace(name)
	if name == "" || len([]rune(name)) > maxPasskeyName || !plainName(name) {
		return nil, fmt.Errorf("%w: name: a passkey's name has 1 to %d characters", ErrInput, maxPasskeyName)
	}
	c, err := k.passkeys.read(ceremony, k.now(), Adding)
	if err != nil || c.User != u.ID {
		return nil, errors.Join(err, errIf(c.User != u.ID, ErrSpent, nil))
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes(answer)
	if err != nil {
		return nil, notHeld(err)
	}
	id := make([]byte, passkeyIDBytes)
	if _, err := rand.Read(id); err != nil {
		return nil, err
	}
	taken, err := k.hasKey(parsed.RawID)
	if err != nil {
		return nil, err
	}
	others := func(l kept) bool { return l.key != digest(token) }
	err = k.changeEnding(u.ID, func(a *account) error {
		key, err := k.passkeys.CreateCredential(holder{a}, c.Session, parsed)
		switch {
		case err != nil:
			return notHeld(err)
		case len(a.Passkeys) >= maxPasskeys || taken || secretDigest(a.Hash) != c.Password:
			return fmt.Errorf("%w: this passkey is known already, or the account changed meanwhile", ErrInput)
		case !k.passkeys.spend(c, k.now()):
			return ErrSpent
		}
		key.Attestation = webauthn.CredentialAttestation{} // nobody asks later who made the device
		if len(a.Recovery) == 0 {
			recovery = a.giveRecovery()
		}
		shown := Passkey{base64.RawURLEncoding.EncodeToString(id), name, k.now().UTC(), time.Time{}}
		a.Passkeys = append(a.Passkeys, passkey{shown, *key})
		return nil
	}, others, more...)
	if err != nil {
		return nil, err
	}
	return recovery, nil
}

// hasKey reports whether any account has a passkey with that id.
func (k *Keeper) hasKey(id []byte) (has bool, err error) {
	err = k.each(func(a account) {
		has = has || a.keyOf(id) >= 0
	})
	return has, err
}

// RemovePasskey removes a passkey of the user. The other log-ins end, since one of them may be on
// the lost device. With the last second factor the recovery codes go too.
//
// Refuses: ErrNoPasskey.
func (k *Keeper) RemovePasskey(u User, id, token string, more ...store.Step) error {
	others := func(l kept) bool { return l.key != digest(token) }
	return k.changeEnding(u.ID, func(a *account) error {
		i := slices.IndexFunc(a.Passkeys, func(p passkey) bool { return p.ID == id })
		if i < 0 {
			return ErrNoPasskey
		}
		a.Passkeys = slices.Delete(a.Passkeys, i, i+1)
		a.dropRecovery()
		return nil
	}, others, more...)
}

// notHeld wraps an error of the library, with its details, as one of ours.
func notHeld(err error) error {
	var unknown *protocol.ErrorUnknownCredential
	if errors.As(err, &unknown) {
		return ErrUnknownPasskey
	}
	why := err.Error()
	var detail *protocol.Error
	if errors.As(err, &detail) && detail.DevInfo != "" {
		why += ": " + detail.DevInfo
	}
	return fmt.Errorf("%w: %s", ErrPasskey, why)
}
