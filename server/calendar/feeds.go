package calendar

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
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// ErrNone is returned when there is no such feed.
var ErrNone = errors.New("there is no such calendar")

const (
	secretBytes = 32
	mostFeeds   = 500
	longestName = 80
	// keepFor is how long a written calendar is served again.
	keepFor = 2 * time.Minute
)

// Languages are those that a calendar can be in.
var Languages = []string{"en", "de"}

// Feed is what one address gives.
type Feed struct {
	ID       string    `json:"id"`
	Name     string    `json:"name"`
	Person   string    `json:"person"` // only this person's rounds; "" for everybody's
	Site     string    `json:"site"`   // only this site's due dates; "" for all
	Due      bool      `json:"due"`    // due dates are in it
	Rounds   bool      `json:"rounds"`
	Language string    `json:"language"`
	Made     time.Time `json:"made"`
	By       string    `json:"by"`
	Epoch    string    `json:"epoch"` // as for a token: one from before a restore has ended
}

// Feeds stores the feeds beside the journal, each under the SHA-256 of its secret.
type Feeds struct {
	store  *store.Store
	office *office.Office
	now    func() time.Time
	kept   store.Private

	mu      sync.Mutex
	written map[string]written // by the id of a feed
}

type written struct {
	at    time.Time
	bytes []byte
}

// NewFeeds returns the feeds of a store.
func NewFeeds(s *store.Store, o *office.Office, now func() time.Time) *Feeds {
	return &Feeds{
		store: s, office: o, now: now, kept: s.Private("calendar feeds"), written: map[string]written{},
	}
}

func digest(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// Make makes a feed. It returns the secret, which is the end of its address, this once.
//
// Takes:   its name, person, site, what is in it, and its language.
// Refuses: a Fault that names the field.
func (k *Feeds) Make(f Feed, with store.Step) (made Feed, secret string, err error) {
	if f.Name = strings.TrimSpace(f.Name); f.Name == "" || utf8.RuneCountInString(f.Name) > longestName {
		return f, "", document.Refuse(
			document.CodeRange, "name", fmt.Sprintf("has 1 to %d characters", longestName),
		)
	}
	if !f.Due && !f.Rounds {
		return f, "", document.Refuse(document.CodeMissing, "rounds", "a calendar has rounds or due dates")
	}
	if f.Language = cmp.Or(f.Language, "en"); !slices.Contains(Languages, f.Language) {
		return f, "", document.Refuse(document.CodeRange, "language", "is en or de")
	}
	if f.Person != "" {
		if there, err := k.works(f.Person); err != nil || !there {
			return f, "", cmp.Or(err, document.Refuse(document.CodeRange, "person", "nobody here has this id"))
		}
	}
	if f.Site != "" {
		if _, err := plant.LoadSite(k.store, f.Site); err != nil {
			return f, "", document.Refuse(document.CodeRange, "site", "no site has this id")
		}
	}
	list, err := k.List()
	if err != nil {
		return f, "", err
	}
	if len(list) >= mostFeeds {
		return f, "", document.Refuse(document.CodeRange, "name", "there are too many calendars")
	}
	b := make([]byte, secretBytes)
	if _, err := rand.Read(b); err != nil {
		return f, "", err
	}
	if f.ID, err = change.NewID(rand.Reader); err != nil {
		return f, "", err
	}
	f.Made, f.Epoch = k.now().UTC(), k.store.Restored()
	secret = base64.RawURLEncoding.EncodeToString(b)
	kept, err := json.Marshal(f)
	if err != nil {
		return f, "", err
	}
	return f, secret, k.kept.Put(digest(secret), kept, with)
}

// works reports whether a person has access.
func (k *Feeds) works(person string) (bool, error) {
	list, err := k.office.Colleagues()
	return slices.ContainsFunc(list, func(c office.Colleague) bool { return c.ID == person }), err
}

func (k *Feeds) each(to func(key string, f Feed)) error {
	return k.kept.Each(func(key string, v []byte) error {
		var f Feed
		if err := json.Unmarshal(v, &f); err != nil {
			return fmt.Errorf("a calendar is damaged: %w", err)
		}
		if f.Epoch == k.store.Restored() {
			to(key, f)
		}
		return nil
	})
}

// List lists the feeds by their names.
func (k *Feeds) List() (list []Feed, err error) {
	list = []Feed{}
	err = k.each(func(_ string, f Feed) { list = append(list, f) })
	slices.SortFunc(list, func(a, b Feed) int {
		return cmp.Or(strings.Compare(a.Name, b.Name), strings.Compare(a.ID, b.ID))
	})
	return list, err
}

// End ends a feed: its address finds nothing from now on.
//
// Refuses: ErrNone.
func (k *Feeds) End(id string, with store.Step) error {
	at := ""
	if err := k.each(func(key string, f Feed) {
		if f.ID == id {
			at = key
		}
	}); err != nil {
		return err
	}
	if at == "" {
		return ErrNone
	}
	return k.kept.Delete(at, with)
}

// At returns the calendar at an address.
//
// Takes:   the secret; the plant's address for phones and browsers.
// Refuses: ErrNone.
func (k *Feeds) At(secret, base string) ([]byte, error) {
	v, err := k.kept.Get(digest(secret))
	if err != nil {
		return nil, err
	}
	var f Feed
	if v == nil || json.Unmarshal(v, &f) != nil || f.Epoch != k.store.Restored() {
		return nil, ErrNone
	}
	if f.Person != "" {
		if there, err := k.works(f.Person); err != nil || !there {
			return nil, cmp.Or(err, ErrNone)
		}
	}
	k.mu.Lock()
	defer k.mu.Unlock() // one at a time, since programs ask as often as they like
	now := k.now()
	if had, ok := k.written[f.ID]; ok && now.Sub(had.at) < keepFor {
		return had.bytes, nil
	}
	b, err := k.write(&f, base)
	if err != nil {
		return nil, err
	}
	if len(k.written) > mostFeeds {
		clear(k.written)
	}
	k.written[f.ID] = written{now, b}
	return b, nil
}
