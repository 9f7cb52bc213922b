package auth

import (
	"crypto/hmac"
	"errors"
	"slices"
	"strings"
	"time"

	"gaugewright/sync/store"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
	"github.com/pquerna/otp/totp"
)

// factor is a second factor: codes that a device computes from a secret and the time (RFC 6238).
type factor struct {
	Secret    string   `json:"secret"` // base32
	Confirmed bool     `json:"confirmed"`
	Used      int64    `json:"used"`               // step of the newest code taken; each is taken once (RFC 6238, 5.2)
	Recovery  []string `json:"recovery,omitempty"` // where an earlier version kept the account's recovery codes
}

// hasCodes reports whether the account's second factor is a device that shows codes.
func (a *account) hasCodes() bool { return a.Factor != nil && a.Factor.Confirmed }

// HasCodes reports whether a user's second factor is a device that shows codes.
func (k *Keeper) HasCodes(u User) (bool, error) {
	a, err := k.account(u.Name)
	return err == nil && a != nil && a.hasCodes(), err
}

// Wanted is the ErrSecond that says by which ways the second factor can be given.
type Wanted struct{ Codes, Passkey bool }

// Error returns the text of ErrSecond.
func (*Wanted) Error() string { return ErrSecond.Error() }

// Unwrap returns ErrSecond.
func (*Wanted) Unwrap() error { return ErrSecond }

// Ways names the ways, for the client.
func (w *Wanted) Ways() string {
	switch {
	case w.Codes && w.Passkey:
		return "code passkey"
	case w.Passkey:
		return "passkey"
	}
	return "code"
}

const (
	stepSeconds   = 30
	slackSteps    = 1 // on either side, for clocks that differ
	recoveryCodes = 10
	factorIssuer  = "gaugewright"
)

var (
	// ErrFactor is returned for beginning a second factor that exists, or ending one that does not.
	ErrFactor = errors.New("the second factor is there already, or not yet")
	// ErrCode is returned for a code that is not the device's.
	ErrCode = errors.New("this code is wrong; check the clock of your device")
)

// codeAt returns the code of a secret at a step.
func codeAt(secret string, step int64) (string, error) {
	return hotp.GenerateCodeCustom(
		secret, uint64(step), hotp.ValidateOpts{Digits: otp.DigitsSix, Algorithm: otp.AlgorithmSHA1},
	)
}

// step returns the step of a code near a moment and after the last one taken, or 0.
func (f *factor) step(code string, at time.Time) (int64, error) {
	code = strings.ReplaceAll(code, " ", "")
	now := at.Unix() / stepSeconds
	for s := max(now-slackSteps, f.Used+1); s <= now+slackSteps; s++ {
		want, err := codeAt(f.Secret, s)
		if err != nil {
			return 0, err
		}
		if hmac.Equal([]byte(want), []byte(code)) {
			return s, nil
		}
	}
	return 0, nil
}

// second checks a code of the second factor, or a recovery code, and uses it up.
//
// Refuses: a Wanted without a code; ErrLogin for a wrong one.
func (k *Keeper) second(id, code string) error {
	empty := strings.TrimSpace(code) == ""
	return k.changeIf(id, func(a *account) error {
		if empty {
			return &Wanted{a.hasCodes(), len(a.Passkeys) > 0}
		}
		if a.hasCodes() {
			step, err := a.Factor.step(code, k.now())
			if err != nil {
				return err
			}
			if step > 0 {
				a.Factor.Used = step
				return nil
			}
		}
		i := slices.Index(a.Recovery, secretDigest(plainCode(code)))
		if i < 0 {
			return ErrLogin
		}
		a.Recovery = slices.Delete(a.Recovery, i, i+1)
		return nil
	})
}

// BeginFactor makes a second factor, which takes effect once ConfirmFactor has seen a code of it.
//
// Gives:   the secret in base32, and the otpauth address that a device reads as a QR code.
// Refuses: ErrFactor if there is one.
func (k *Keeper) BeginFactor(u User) (secret, address string, err error) {
	key, err := totp.Generate(
		totp.GenerateOpts{
			Issuer: factorIssuer, AccountName: u.Name, Period: stepSeconds, SecretSize: 20,
			Digits: otp.DigitsSix, Algorithm: otp.AlgorithmSHA1,
		},
	)
	if err != nil {
		return "", "", err
	}
	there := false
	err = k.change(u.ID, func(a *account) {
		if there = a.Factor != nil && a.Factor.Confirmed; !there {
			a.Factor = &factor{Secret: key.Secret()}
		}
	})
	if err == nil && there {
		err = ErrFactor
	}
	if err != nil {
		return "", "", err
	}
	return key.Secret(), key.URL(), nil
}

// ConfirmFactor puts the second factor whose device shows code into effect; the user's other
// log-ins end.
//
// Gives:   the recovery codes, which are shown this once; earlier ones end.
// Refuses: ErrFactor if none was begun; ErrCode for a wrong code; a Wait after repeated ones.
func (k *Keeper) ConfirmFactor(u User, code, token string, more ...store.Step) (recovery []string, err error) {
	counted := []slot{{"factor " + u.ID, freeTries}}
	if long := k.tries.wait(counted, k.now()); long > 0 {
		return nil, &Wait{long}
	}
	others := func(l kept) bool { return l.key != digest(token) }
	err = k.changeEnding(u.ID, func(a *account) error {
		f := a.Factor
		if f == nil || f.Confirmed {
			return ErrFactor
		}
		step, err := f.step(code, k.now())
		switch {
		case err != nil:
			return err
		case step == 0:
			return ErrCode
		}
		f.Confirmed, f.Used = true, step
		recovery = a.giveRecovery()
		return nil
	}, others, more...)
	if errors.Is(err, ErrCode) {
		k.tries.failed(counted, k.now())
	}
	if err != nil {
		return nil, err
	}
	k.tries.passed(counted)
	return recovery, nil
}

// EndFactor removes the device that shows a user codes; passkeys stay.
//
// Refuses: ErrInput for an unknown account; ErrFactor if there is none.
func (k *Keeper) EndFactor(id string, more ...store.Step) error {
	return k.changeIf(id, func(a *account) error {
		if a.Factor == nil {
			return ErrFactor
		}
		a.Factor = nil
		a.dropRecovery()
		return nil
	}, more...)
}

// CheckSecond checks a code of a logged-in user's device, if they have one that shows codes.
//
// Refuses: ErrSecond, ErrLogin, a Wait after repeated failures.
func (k *Keeper) CheckSecond(u User, code string) error {
	if a, err := k.account(u.Name); err != nil || a == nil || !a.hasCodes() {
		return err
	}
	counted := []slot{{"factor " + u.ID, freeTries}}
	if long := k.tries.wait(counted, k.now()); long > 0 {
		return &Wait{long}
	}
	err := k.second(u.ID, code)
	if errors.Is(err, ErrLogin) {
		k.tries.failed(counted, k.now())
	}
	return err
}
