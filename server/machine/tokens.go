package machine

import (
	"cmp"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"gaugewright/calc/document"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// Scope is one thing that a token permits.
type Scope string

// The scopes; none includes another.
const (
	ReadInstruments  Scope = "read:instruments"
	ReadDue          Scope = "read:due"
	ReadVisits       Scope = "read:visits"
	ReadCertificates Scope = "read:certificates"
	ReadStandards    Scope = "read:standards"
	ReadOrders       Scope = "read:orders"
	WriteOrders      Scope = "write:orders"
)

// Scopes lists all scopes.
var Scopes = []Scope{
	ReadInstruments, ReadDue, ReadVisits, ReadCertificates, ReadStandards, ReadOrders, WriteOrders,
}

var (
	// ErrToken is returned for anything but the secret of a valid token.
	ErrToken = errors.New("the token is not one that is in force here")
	// ErrNoToken is returned when there is no token with that id.
	ErrNoToken = errors.New("there is no such token")
)

const (
	secretMark  = "gwm_" // makes leaked secrets easy to find
	secretBytes = 32
	longestName = 80
	// mostTokens bounds the list that an administrator has to read.
	mostTokens = 200
	// LongestLife is how far away the last day of a token may be, so that each token is reviewed
	// now and then.
	LongestLife = 2 * 366 * 24 * time.Hour
)

// Token is what admits another system, without its secret.
type Token struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"`
	Scopes []Scope   `json:"scopes"`
	Sites  []string  `json:"sites,omitempty"` // ids of the sites that it is given; none for the whole plant
	Made   time.Time `json:"made"`
	By     string    `json:"by"`    // the id of an account, "" for the command line
	Until  time.Time `json:"until"` // valid before this moment
	Ended  time.Time `json:"ended"` // zero unless it was ended
	Used   time.Time `json:"used"`  // roughly when it was last used, zero for never
	// Epoch names the last restore from a backup before the token was made. A token of another
	// epoch has ended: somebody may have ended it since the backup.
	Epoch string `json:"epoch"`
}

// InForce reports whether a token is valid at a moment.
func (t *Token) InForce(now time.Time) bool { return t.Ended.IsZero() && now.Before(t.Until) }

// May reports whether a token has a scope.
func (t *Token) May(s Scope) bool { return slices.Contains(t.Scopes, s) }

// Sees says whether a token is given a record: of the plant, or of one of its sites. A standard that
// belongs to no site serves them all.
func (t *Token) Sees(s *merge.State) bool {
	return len(t.Sites) == 0 || slices.Contains(t.Sites, s.Site) || s.Kind == "standard" && s.Site == ""
}

// Tokens keeps the tokens beside the journal, each under the SHA-256 of its secret.
type Tokens struct {
	store    *store.Store
	kept     store.Private
	now      func() time.Time
	epoch    string
	changing sync.Mutex
}

// NewTokens returns the tokens of a store; now is the clock.
func NewTokens(s *store.Store, now func() time.Time) *Tokens {
	return &Tokens{store: s, kept: s.Private("machine tokens"), now: now, epoch: s.Restored()}
}

func digest(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// Make makes a token. It returns the secret this once.
//
// Takes:   its name, scopes, sites (none for the whole plant) and last moment; who makes it; what goes
// with it.
// Refuses: a Fault that names the field.
func (k *Tokens) Make(
	name string, scopes []Scope, sites []string, until time.Time, by string, with func(Token) store.Step,
) (t Token, secret string, err error) {
	k.changing.Lock()
	defer k.changing.Unlock()
	now := k.now()
	if name = strings.TrimSpace(name); name == "" || utf8.RuneCountInString(name) > longestName {
		return t, "", document.Refuse(
			document.CodeRange, "name", fmt.Sprintf("has 1 to %d characters", longestName),
		)
	}
	if len(scopes) == 0 {
		return t, "", document.Refuse(document.CodeMissing, "scopes", "a token is for something")
	}
	for i, s := range scopes {
		if !slices.Contains(Scopes, s) {
			return t, "", document.Refuse(
				document.CodeRange, fmt.Sprintf("scopes[%d]", i), fmt.Sprintf("%q is no scope", s),
			)
		}
	}
	for i, id := range sites {
		if _, err := plant.LoadSite(k.store, id); err != nil {
			return t, "", document.Refuse(document.CodeRange, fmt.Sprintf("sites[%d]", i), "no site has this id")
		}
	}
	if !until.After(now) || until.Sub(now) > LongestLife {
		return t, "", document.Refuse(
			document.CodeRange, "until", "the last day lies ahead, within two years",
		)
	}
	list, err := k.List()
	if err != nil {
		return t, "", err
	}
	if len(list) >= mostTokens {
		return t, "", document.Refuse(document.CodeRange, "name", "there are too many tokens; remove some")
	}
	id, err := change.NewID(rand.Reader)
	if err != nil {
		return t, "", err
	}
	b := make([]byte, secretBytes)
	if _, err := rand.Read(b); err != nil {
		return t, "", err
	}
	secret = secretMark + base64.RawURLEncoding.EncodeToString(b)
	scopes = slices.Compact(slices.Sorted(slices.Values(scopes)))
	t = Token{
		ID: id, Name: name, Scopes: scopes, Sites: slices.Compact(slices.Sorted(slices.Values(sites))), Made: now.UTC(),
		By: by, Until: until.UTC(), Epoch: k.epoch,
	}
	return t, secret, k.put(digest(secret), t, with(t))
}

func (k *Tokens) put(key string, t Token, more ...store.Step) error {
	b, err := json.Marshal(t)
	if err != nil {
		return err
	}
	return k.kept.Put(key, b, more...)
}

func (k *Tokens) read(v []byte) (t Token, err error) {
	if err = json.Unmarshal(v, &t); err == nil && t.Epoch != k.epoch && t.Ended.IsZero() {
		t.Ended = t.Made
	}
	return t, err
}

// each calls to for every token with its key.
func (k *Tokens) each(to func(key string, t Token)) error {
	return k.kept.Each(func(key string, v []byte) error {
		t, err := k.read(v)
		if err != nil {
			return fmt.Errorf("a token is damaged: %w", err)
		}
		to(key, t)
		return nil
	})
}

// List lists all tokens, the newest first.
func (k *Tokens) List() (list []Token, err error) {
	list = []Token{}
	err = k.each(func(_ string, t Token) { list = append(list, t) })
	slices.SortFunc(list, func(a, b Token) int {
		return cmp.Or(b.Made.Compare(a.Made), strings.Compare(a.ID, b.ID))
	})
	return list, err
}

// Who returns the token with a secret.
//
// Refuses: ErrToken.
func (k *Tokens) Who(secret string) (Token, error) {
	if !strings.HasPrefix(secret, secretMark) {
		return Token{}, ErrToken
	}
	v, err := k.kept.Get(digest(secret))
	if err != nil {
		return Token{}, err
	}
	t, err := k.read(v)
	if v == nil || err != nil || !t.InForce(k.now()) {
		return Token{}, ErrToken
	}
	return t, nil
}

// End ends a token at once, or removes one that has ended.
//
// Refuses: ErrNoToken.
func (k *Tokens) End(id string, with store.Step) error {
	return k.alter(id, func(key string, t Token) error {
		if !t.InForce(k.now()) {
			return k.kept.Delete(key, with)
		}
		t.Ended = k.now().UTC()
		return k.put(key, t, with)
	})
}

// Seen notes that a token was used.
func (k *Tokens) Seen(id string, with store.Step) error {
	return k.alter(id, func(key string, t Token) error {
		t.Used = k.now().UTC()
		return k.put(key, t, with)
	})
}

func (k *Tokens) alter(id string, do func(key string, t Token) error) error {
	k.changing.Lock()
	defer k.changing.Unlock()
	var at string
	var found Token
	if err := k.each(func(key string, t Token) {
		if t.ID == id {
			at, found = key, t
		}
	}); err != nil {
		return err
	}
	if at == "" {
		return ErrNoToken
	}
	return do(at, found)
}
