package openid

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/coreos/go-oidc/v3/oidc"
)

// Ended is what a provider has logged out: a subject, one of their sessions, or both.
type Ended struct{ Issuer, Subject, Session string }

// maxUsed bounds how many log-outs are remembered, so that none is used twice; each is forgotten
// once it has expired.
const maxUsed = 10_000

// Logout reads a provider's log-out token (OpenID Connect Back-Channel Logout 1.0), as posted in a
// form.
//
// Refuses: ErrToken if issuer, audience, signature, time or event are wrong, if it has a nonce like
// an ID token, or if it came before; ErrReach; ErrBusy.
func (p *Provider) Logout(ctx context.Context, form url.Values) (Ended, error) {
	raw := form["logout_token"]
	if len(raw) != 1 || raw[0] == "" {
		return Ended{}, fmt.Errorf("%w: there is no logout_token", ErrToken)
	}
	select {
	case p.turns <- struct{}{}:
		defer func() { <-p.turns }()
	default:
		return Ended{}, ErrBusy
	}
	ctx = oidc.ClientContext(ctx, p.http)
	provider, _, err := p.provider(ctx)
	if err != nil {
		return Ended{}, err
	}
	if !typed(raw[0]) {
		return Ended{}, fmt.Errorf("%w: it is another kind of token", ErrToken)
	}
	verifier := provider.Verifier(&oidc.Config{ClientID: p.Client, Now: p.Now})
	token, err := verifier.VerifyLogout(ctx, raw[0])
	if err != nil {
		return Ended{}, fmt.Errorf("%w: %w", ErrToken, err)
	}
	if age := p.Now().Sub(token.IssuedAt); age > Life || age < -Life {
		return Ended{}, fmt.Errorf("%w: it is not of now", ErrToken)
	}
	if !p.first(token.TokenID, token.Expiry) {
		return Ended{}, fmt.Errorf("%w: it came before", ErrToken)
	}
	return Ended{token.Issuer, token.Subject, token.SessionID}, nil
}

// typed reports whether a token's type allows a log-out: some providers leave the type out, but
// none uses that of another kind.
func typed(raw string) bool {
	head, _, _ := strings.Cut(raw, parts)
	b, err := base64.RawURLEncoding.DecodeString(head)
	var said struct{ Typ string }
	if err != nil || json.Unmarshal(b, &said) != nil {
		return false
	}
	kind := strings.TrimPrefix(strings.ToLower(said.Typ), "application/")
	return slices.Contains([]string{"", "jwt", "logout+jwt"}, kind)
}

// first reports whether a log-out comes for the first time, and remembers it.
func (p *Provider) first(id string, until time.Time) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.Now()
	for used, end := range p.used {
		if end.Before(now) {
			delete(p.used, used)
		}
	}
	if _, was := p.used[id]; was || len(p.used) >= maxUsed {
		return false
	}
	p.used[id] = until
	return true
}
