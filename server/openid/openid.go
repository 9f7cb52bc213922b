// Package openid asks an OpenID Connect provider who a person is, by the authorization code flow
// with PKCE (OpenID Connect Core 1.0, RFC 7636, RFC 9700). It knows no accounts and logs nobody in.
// It returns the provider's statement about a subject, signed for this client and this browser, and
// valid now.
package openid

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/coreos/go-oidc/v3/oidc"
	"golang.org/x/oauth2"
)

// Config says which provider to ask, and as which client.
type Config struct {
	Issuer string
	Client string
	Secret string // "" for a public client
	Claim  string // the claim with a person's name; email counts only if verified
	Back   string // where the browser returns to
	Now    func() time.Time
}

// Person is what a provider says about a person. The subject is permanent; the name may later
// belong to another. Session names their log-in there, or is "" if the provider does not say.
type Person struct{ Issuer, Subject, Name, Session string }

// Provider asks a provider. It fetches the provider's metadata on first use, so that a server can
// start while the provider is unreachable.
type Provider struct {
	Config
	key   []byte // seals the request on its way through the browser
	http  *http.Client
	turns chan struct{}
	mu    sync.Mutex
	found *oidc.Provider
	used  map[string]time.Time // log-outs that came, until they expire
}

var (
	// ErrReach is wrapped when the provider does not answer as it should.
	ErrReach = errors.New("the provider cannot be reached now")
	// ErrSpent is returned for an answer to nothing that this browser recently asked.
	ErrSpent = errors.New("this log-in was not begun here, or has run out")
	// ErrDeclined is wrapped when the provider, or the person there, declined.
	ErrDeclined = errors.New("the provider did not let this person log in")
	// ErrToken is wrapped when a token of the provider is not valid.
	ErrToken = errors.New("the provider's answer is not valid")
	// ErrUnverified is returned if the provider has not verified the e-mail address.
	ErrUnverified = errors.New("the provider has not verified this e-mail address")
	// ErrBusy is returned when too many log-ins run at once.
	ErrBusy = errors.New("too many log-ins by the provider at once; try again in a moment")
)

const (
	// Life is how long a person may take to log in at the provider.
	Life        = 10 * time.Minute
	patience    = 10 * time.Second
	maxAnswer   = 1 << 20 // bytes from the provider
	maxAtOnce   = 8
	secretBytes = 32
	parts       = "."
)

// New returns a provider, without contacting it.
func New(c Config) (*Provider, error) {
	p := &Provider{Config: c, key: make([]byte, secretBytes), turns: make(chan struct{}, maxAtOnce), used: map[string]time.Time{}}
	p.http = &http.Client{Timeout: patience, Transport: bounded{http.DefaultTransport}}
	_, err := rand.Read(p.key)
	return p, err
}

// bounded reads only a limited part of an answer.
type bounded struct{ http.RoundTripper }

// RoundTrip sends a request.
func (b bounded) RoundTrip(r *http.Request) (*http.Response, error) {
	res, err := b.RoundTripper.RoundTrip(r)
	if err == nil {
		res.Body = struct {
			io.Reader
			io.Closer
		}{io.LimitReader(res.Body, maxAnswer), res.Body}
	}
	return res, err
}

// provider fetches the provider's metadata.
func (p *Provider) provider(ctx context.Context) (*oidc.Provider, oauth2.Config, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.found == nil {
		found, err := oidc.NewProvider(ctx, p.Issuer)
		if err != nil {
			return nil, oauth2.Config{}, fmt.Errorf("%w: %w", ErrReach, err)
		}
		p.found = found
	}
	return p.found, oauth2.Config{
		ClientID: p.Client, ClientSecret: p.Secret, RedirectURL: p.Back, Endpoint: p.found.Endpoint(),
		Scopes: []string{oidc.ScopeOpenID, "profile", "email"},
	}, nil
}

// asked is what the provider's answer is checked against.
type asked struct {
	State    string    `json:"state"`
	Nonce    string    `json:"nonce"`
	Verifier string    `json:"verifier"`
	Begun    time.Time `json:"begun"`
}

// Begin starts a log-in at the provider.
//
// Gives:   the provider's address for the browser, and what the browser keeps meanwhile.
// Refuses: ErrReach.
func (p *Provider) Begin(ctx context.Context) (address, keep string, err error) {
	_, client, err := p.provider(oidc.ClientContext(ctx, p.http))
	if err != nil {
		return "", "", err
	}
	a := asked{rand.Text(), rand.Text(), oauth2.GenerateVerifier(), p.Now()}
	b, err := json.Marshal(a)
	if err != nil {
		return "", "", err
	}
	text := base64.RawURLEncoding.EncodeToString(b)
	// On a shared phone nobody may enter by the session that another left at the provider.
	again := oauth2.SetAuthURLParam("prompt", "login")
	address = client.AuthCodeURL(a.State, oidc.Nonce(a.Nonce), oauth2.S256ChallengeOption(a.Verifier), again)
	return address, text + parts + base64.RawURLEncoding.EncodeToString(p.sum(text)), nil
}

func (p *Provider) sum(text string) []byte {
	h := hmac.New(sha256.New, p.key)
	h.Write([]byte(text))
	return h.Sum(nil)
}

// kept reads what a browser has kept.
func (p *Provider) kept(keep string) (a asked, err error) {
	text, sealed, _ := strings.Cut(keep, parts)
	sum, err := base64.RawURLEncoding.DecodeString(sealed)
	if err != nil || !hmac.Equal(sum, p.sum(text)) {
		return asked{}, ErrSpent
	}
	b, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil || json.Unmarshal(b, &a) != nil {
		return asked{}, ErrSpent
	}
	if age := p.Now().Sub(a.Begun); age < 0 || age > Life {
		return asked{}, ErrSpent
	}
	return a, nil
}

// Finish reads the provider's answer, with what the browser has kept.
//
// Refuses: ErrSpent for a browser that asked nothing, or something else; ErrDeclined, ErrReach;
// ErrToken if issuer, audience, signature, time or nonce are wrong; ErrUnverified; ErrBusy.
func (p *Provider) Finish(ctx context.Context, keep string, answer url.Values) (Person, error) {
	a, err := p.kept(keep)
	if err != nil {
		return Person{}, err
	}
	if !same(answer.Get("state"), a.State) || answer.Get("iss") != "" && answer.Get("iss") != p.Issuer {
		return Person{}, ErrSpent
	}
	if no := answer.Get("error"); no != "" {
		return Person{}, fmt.Errorf("%w: %q", ErrDeclined, no)
	}
	select {
	case p.turns <- struct{}{}:
		defer func() { <-p.turns }()
	default:
		return Person{}, ErrBusy
	}
	ctx = oidc.ClientContext(ctx, p.http)
	provider, client, err := p.provider(ctx)
	if err != nil {
		return Person{}, err
	}
	tokens, err := client.Exchange(ctx, answer.Get("code"), oauth2.VerifierOption(a.Verifier))
	var refused *oauth2.RetrieveError
	switch {
	case errors.As(err, &refused) && refused.ErrorCode != "":
		return Person{}, fmt.Errorf("%w: %q", ErrDeclined, refused.ErrorCode)
	case err != nil:
		return Person{}, fmt.Errorf("%w: %w", ErrReach, err)
	}
	raw, ok := tokens.Extra("id_token").(string)
	if !ok {
		return Person{}, fmt.Errorf("%w: it has no ID token", ErrToken)
	}
	token, err := provider.Verifier(&oidc.Config{ClientID: p.Client, Now: p.Now}).Verify(ctx, raw)
	if err != nil {
		return Person{}, fmt.Errorf("%w: %w", ErrToken, err)
	}
	if !same(token.Nonce, a.Nonce) {
		return Person{}, fmt.Errorf("%w: it answers another question", ErrToken)
	}
	return p.person(ctx, provider, token, tokens)
}

// person reads whom a token is about, and asks the provider for what the token lacks.
func (p *Provider) person(
	ctx context.Context, provider *oidc.Provider, token *oidc.IDToken, tokens *oauth2.Token,
) (Person, error) {
	var claims map[string]any
	if err := token.Claims(&claims); err != nil {
		return Person{}, fmt.Errorf("%w: %w", ErrToken, err)
	}
	azp, _ := claims["azp"].(string)
	session, _ := claims["sid"].(string) // only in the token
	if token.Subject == "" || azp != "" && azp != p.Client || azp == "" && len(token.Audience) > 1 {
		return Person{}, fmt.Errorf("%w: it was made for another client, or of nobody", ErrToken)
	}
	if claims[p.Claim] == nil && provider.UserInfoEndpoint() != "" {
		info, err := provider.UserInfo(ctx, oauth2.StaticTokenSource(tokens))
		if err != nil {
			return Person{}, fmt.Errorf("%w: %w", ErrReach, err)
		}
		if info.Subject != token.Subject {
			return Person{}, fmt.Errorf("%w: it tells of two people", ErrToken)
		}
		if err := info.Claims(&claims); err != nil {
			return Person{}, fmt.Errorf("%w: %w", ErrToken, err)
		}
	}
	if p.Claim == "email" && !slices.Contains([]any{true, "true"}, claims["email_verified"]) {
		return Person{}, ErrUnverified
	}
	name, _ := claims[p.Claim].(string)
	return Person{token.Issuer, token.Subject, name, session}, nil
}

func same(a, b string) bool { return a != "" && subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }
