package hooks

import (
	"cmp"
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"gaugewright/calc/document"
	"gaugewright/server/office"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// ErrNone is returned when there is no such endpoint or message.
var ErrNone = errors.New("there is no such endpoint or message")

const (
	secretPrefix  = "whsec_" // from the specification
	secretBytes   = 32       // it requires 24 to 64
	mostEndpoints = 50
	longestName   = 80
)

// Endpoint is a receiver of messages.
type Endpoint struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"`
	URL    string    `json:"url"`
	Events []string  `json:"events"`          // kinds of happening; none for all
	Sites  []string  `json:"sites,omitempty"` // ids of the sites whose events are sent; none for the whole plant
	Secret string    `json:"secret"`          // by which messages are signed: it has to be kept as it is
	Made   time.Time `json:"made"`
	By     string    `json:"by"`
	// Failing is since when no message arrived, zero if the last one did. Ended is when the
	// endpoint was disabled, and Why the reason.
	Failing time.Time `json:"failing"`
	Ended   time.Time `json:"ended"`
	Why     string    `json:"why"`
}

// wants says whether a happening is sent to an endpoint. A standard that belongs to no site serves
// them all.
func (e *Endpoint) wants(one *office.Happening) bool {
	here := len(e.Sites) == 0 || slices.Contains(e.Sites, one.Site) || one.Kind == office.StandardDueSoon && one.Site == ""
	return e.Ended.IsZero() && here && (len(e.Events) == 0 || slices.Contains(e.Events, one.Kind))
}

// Hooks sends the webhooks of a store.
type Hooks struct {
	store   *store.Store
	office  *office.Office
	now     func() time.Time
	guard   guard
	client  *http.Client
	log     *slog.Logger
	ends    store.Private // endpoints by id
	outbox  store.Private // messages
	marks   store.Private // the cursor, and what was reported as due
	cursor  office.Cursor
	turn    *store.Turn
	waking  chan struct{}
	changes sync.Mutex // held while an endpoint or a message changes
	waits   map[string]time.Time
	tidied  time.Time
	asked   time.Time // when due dates were last checked
}

// New returns the hooks of a store. allow names private networks to which it may send.
func New(
	s *store.Store, o *office.Office, now func() time.Time, allow []netip.Prefix, log *slog.Logger,
) *Hooks {
	g := guard{allow}
	return &Hooks{
		store: s, office: o, now: now, guard: g, client: g.client(), log: log, ends: s.Private("hooks"),
		outbox: s.Private("hook outbox"), marks: s.Private("hook marks"),
		cursor: office.NewCursor(s, s.Private("hook marks")), turn: s.Turn("hooks", 6*patience),
		waking: make(chan struct{}, 1),
		waits:  map[string]time.Time{},
	}
}

// Make makes an endpoint. It returns the secret this once.
//
// Takes:   a name, the address, the kinds of happening that are sent, and the sites whose happenings are sent;
// none for all.
// Refuses: a Fault that names the field.
func (h *Hooks) Make(
	name, address string, events, sites []string, by string, with store.Step,
) (e Endpoint, err error) {
	h.changes.Lock()
	defer h.changes.Unlock()
	if name = strings.TrimSpace(name); name == "" || utf8.RuneCountInString(name) > longestName {
		return e, document.Refuse(
			document.CodeRange, "name", fmt.Sprintf("has 1 to %d characters", longestName),
		)
	}
	if err := h.guard.check(address); err != nil {
		return e, err
	}
	for i, kind := range events {
		if !slices.Contains(office.HappeningKinds, kind) {
			return e, document.Refuse(
				document.CodeRange, fmt.Sprintf("events[%d]", i), fmt.Sprintf("%q is no event", kind),
			)
		}
	}
	for i, id := range sites {
		if s, err := h.office.Record(id); err != nil || s.Kind != "site" {
			return e, document.Refuse(document.CodeRange, fmt.Sprintf("sites[%d]", i), "no site has this id")
		}
	}
	list, err := h.Endpoints()
	if err != nil {
		return e, err
	}
	if len(list) >= mostEndpoints {
		return e, document.Refuse(document.CodeRange, "name", "there are too many endpoints")
	}
	b := make([]byte, secretBytes)
	if _, err := rand.Read(b); err != nil {
		return e, err
	}
	id, err := change.NewID(rand.Reader)
	if err != nil {
		return e, err
	}
	e = Endpoint{
		ID: id, Name: name, URL: address, Events: append([]string{}, events...), Sites: slices.Clone(sites), Made: h.now().UTC(), By: by,
		Secret: secretPrefix + base64.StdEncoding.EncodeToString(b),
	}
	if len(list) == 0 { // earlier events are not reported
		last, err := h.store.Last()
		if err != nil {
			return e, err
		}
		begun, err := h.cursor.Moving(last)
		if err != nil {
			return e, err
		}
		return e, h.put(e, with, begun)
	}
	return e, h.put(e, with)
}

func (h *Hooks) put(e Endpoint, more ...store.Step) error {
	b, err := json.Marshal(e)
	if err != nil {
		return err
	}
	return h.ends.Put(e.ID, b, more...)
}

// Endpoints lists the endpoints, ordered by name.
func (h *Hooks) Endpoints() (list []Endpoint, err error) {
	err = h.ends.Each(func(_ string, v []byte) error {
		var e Endpoint
		if err := json.Unmarshal(v, &e); err != nil {
			return fmt.Errorf("an endpoint is damaged: %w", err)
		}
		list = append(list, e)
		return nil
	})
	slices.SortFunc(list, func(a, b Endpoint) int {
		return cmp.Or(strings.Compare(a.Name, b.Name), strings.Compare(a.ID, b.ID))
	})
	return list, err
}

func (h *Hooks) endpoint(id string) (e Endpoint, err error) {
	b, err := h.ends.Get(id)
	if err == nil && b == nil {
		err = ErrNone
	}
	if err != nil {
		return e, err
	}
	return e, json.Unmarshal(b, &e)
}

// Remove removes an endpoint with its messages.
//
// Refuses: ErrNone.
func (h *Hooks) Remove(id string, with store.Step) error {
	h.changes.Lock()
	defer h.changes.Unlock()
	if _, err := h.endpoint(id); err != nil {
		return err
	}
	steps := []store.Step{h.ends.Deleting(id), with}
	err := h.each(func(key string, m Message) {
		if m.Endpoint == id {
			steps = append(steps, h.outbox.Deleting(key))
			delete(h.waits, key)
		}
	})
	if err != nil {
		return err
	}
	return h.store.Keep(steps...)
}

// Resume enables an endpoint again; its waiting messages are sent.
//
// Refuses: ErrNone.
func (h *Hooks) Resume(id string, with store.Step) error {
	h.changes.Lock()
	defer h.changes.Unlock()
	e, err := h.endpoint(id)
	if err != nil {
		return err
	}
	e.Failing, e.Ended, e.Why = time.Time{}, time.Time{}, ""
	defer h.wake()
	return h.put(e, with, h.marks.Putting(againMark+e.ID, nil))
}

func (h *Hooks) wake() {
	select {
	case h.waking <- struct{}{}:
	default:
	}
}
