package auth

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"slices"
	"strings"
	"sync"
	"time"
)

// Wait is the ErrTooMany that says how long the caller has to wait.
type Wait struct{ For time.Duration }

// Error returns the text of ErrTooMany.
func (w *Wait) Error() string { return ErrTooMany.Error() }

// Unwrap returns ErrTooMany.
func (w *Wait) Unwrap() error { return ErrTooMany }

// tries counts failures in slots, each of which has its own wait.
type tries struct {
	mu       sync.Mutex
	failures map[string]failure
}

type failure struct {
	count int
	until time.Time
}

const (
	// freeTries is how many failures cost no wait, for one account at one address and for one
	// address; after that the wait is 1, 2, 4 … s.
	freeTries = 5
	// freeOfName is the same for one account from anywhere. It is more than one address reaches in
	// an hour, so that a stranger cannot lock a user out, and few enough that many addresses cannot
	// guess freely. It does not delay a browser that logged in before.
	freeOfName = 50
	longest    = 256 * time.Second
	forgotten  = time.Hour // after the wait
	maxTries   = 100_000   // slots at once; bounds the memory
)

// slot is what a failure counts against: its name, and how many tries are free.
type slot struct {
	name string
	free int
}

// slots returns what a try counts against. A known browser has a count of its own, to which no
// other browser adds.
func slots(name string, from Origin, known string) []slot {
	if known != "" {
		return []slot{{"known " + known, freeTries}, {"address " + from.Address, freeTries}}
	}
	return []slot{
		{"both " + nameKey(name) + " " + from.Address, freeTries}, {"address " + from.Address, freeTries},
		{"name " + nameKey(name), freeOfName},
	}
}

// wait returns how long it is until the next try.
func (t *tries) wait(of []slot, now time.Time) (long time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, s := range of {
		long = max(long, t.failures[s.name].until.Sub(now))
	}
	return long
}

func (t *tries) failed(of []slot, now time.Time) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for s, f := range t.failures {
		if now.Sub(f.until) > forgotten || len(t.failures) > maxTries {
			delete(t.failures, s)
		}
	}
	for _, s := range of {
		f := t.failures[s.name]
		f.count++
		f.until = now
		if over := f.count - s.free; over >= 0 {
			f.until = now.Add(min(longest, time.Second<<min(over, 8)))
		}
		t.failures[s.name] = f
	}
}

// passed forgets the failures of an account that has logged in. Those of the address stay, since
// other accounts may be guessed from it.
func (t *tries) passed(of []slot) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, s := range of {
		if !strings.HasPrefix(s.name, "address ") {
			delete(t.failures, s.name)
		}
	}
}

// A browser that logged in keeps a mark of it for each account: an arbitrary text and the server's
// seal over it and the account. The mark gives no access. It only separates the failures of
// strangers from those of the account's own people.
const (
	markParts = "."
	markNext  = "~"
	maxMarks  = 8 // people who share a browser
	markBytes = 16
)

func (k *Keeper) seal(of ...string) []byte {
	h := hmac.New(sha256.New, k.key)
	for _, s := range of {
		h.Write([]byte(s))
		h.Write([]byte{0})
	}
	return h.Sum(nil)
}

// known returns the text of a browser's mark for an account, or "" if it has none.
func (k *Keeper) known(name, marks string) string { return k.marked(marks, "known", nameKey(name)) }

// browser returns the text of the mark that tells a browser from others, or "" if it has none.
func (k *Keeper) browser(marks string) string { return k.marked(marks, "browser") }

// marked returns the text of the mark sealed with some words, or "" if there is none.
func (k *Keeper) marked(marks string, words ...string) string {
	for i, one := range strings.Split(marks, markNext) {
		text, sealed, _ := strings.Cut(one, markParts)
		b, err := base64.RawURLEncoding.DecodeString(sealed)
		if i < maxMarks && err == nil && text != "" && hmac.Equal(b, k.seal(append(words, text)...)) {
			return text
		}
	}
	return ""
}

// Browser adds the mark that tells this browser from others to its marks, whoever logs in on it.
func (k *Keeper) Browser(marks string) (string, error) {
	return k.mark(marks, "browser")
}

// Mark adds an account to a browser's marks.
func (k *Keeper) Mark(name, marks string) (string, error) {
	return k.mark(marks, "known", nameKey(name))
}

// mark adds a mark sealed with some words, unless it is there. The browser's own mark stays when
// others make room.
func (k *Keeper) mark(marks string, words ...string) (string, error) {
	if k.marked(marks, words...) != "" {
		return marks, nil
	}
	b := make([]byte, markBytes)
	if _, err := rand.Read(b); err != nil {
		return "", err
	}
	text := base64.RawURLEncoding.EncodeToString(b)
	list := []string{text + markParts + base64.RawURLEncoding.EncodeToString(k.seal(append(words, text)...))}
	was := strings.Split(marks, markNext)
	if i := slices.IndexFunc(was, func(one string) bool { return k.browser(one) != "" }); i > 0 {
		was[0], was[i] = was[i], was[0]
	}
	for _, one := range was {
		if len(list) < maxMarks && one != "" && len(one) < 100 {
			list = append(list, one)
		}
	}
	return strings.Join(list, markNext), nil
}
