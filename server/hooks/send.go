package hooks

import (
	"bytes"
	"cmp"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/sync/store"

	"golang.org/x/sync/errgroup"
)

// waits are how long after each try the next one is made. The specification proposes such a
// schedule and says: for some days, with growing waits (from memory).
var waits = []time.Duration{
	5 * time.Second, 5 * time.Minute, 30 * time.Minute, 2 * time.Hour, 5 * time.Hour, 10 * time.Hour,
	14 * time.Hour, 20 * time.Hour, 24 * time.Hour,
}

const (
	// failsFor is how long an endpoint may fail before it is put out of use.
	failsFor = 5 * 24 * time.Hour
	// atOnce is how many messages are sent at the same time.
	atOnce = 4
	// longestWhy is what is kept of why a message did not arrive.
	longestWhy = 200
)

// Sign signs a message: HMAC-SHA256 over its id, its moment in seconds and its body, with dots
// between them.
//
// Source: Standard Webhooks 1.0, "Signature scheme".
func Sign(secret, id string, at time.Time, body []byte) (string, error) {
	key, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(secret, secretPrefix))
	if err != nil {
		return "", fmt.Errorf("the secret of an endpoint is damaged: %w", err)
	}
	mac := hmac.New(sha256.New, key)
	_, _ = fmt.Fprintf(mac, "%s.%d.%s", id, at.Unix(), body) // a hash takes everything
	return "v1," + base64.StdEncoding.EncodeToString(mac.Sum(nil)), nil
}

// Run tells what happens until the context ends.
func (h *Hooks) Run(ctx context.Context) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		if err := h.Step(ctx); err != nil && ctx.Err() == nil && !errors.Is(err, store.ErrClosed) {
			h.log.Error("webhooks wait", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-h.waking:
		case <-tick.C:
		}
	}
}

// Step puts what happened into the outbox and sends what is due.
func (h *Hooks) Step(ctx context.Context) error {
	if err := h.load(); err != nil {
		return err
	}
	if err := h.look(); err != nil {
		return err
	}
	if err := h.sendDue(ctx); err != nil {
		return err
	}
	return h.tidy()
}

// load reads what waits to be sent, once.
func (h *Hooks) load() error {
	h.changes.Lock()
	defer h.changes.Unlock()
	if h.loaded {
		return nil
	}
	h.loaded = true
	return h.each(func(key string, m Message) {
		if !m.Next.IsZero() {
			h.waits[key] = m.Next
		}
	})
}

func (h *Hooks) sendDue(ctx context.Context) error {
	h.changes.Lock()
	var due []string
	for key, at := range h.waits {
		if !at.After(h.now()) {
			due = append(due, key)
		}
	}
	h.changes.Unlock()
	slices.Sort(due)
	var all errgroup.Group
	all.SetLimit(atOnce)
	for _, key := range due {
		all.Go(func() error { return h.send(ctx, key) })
	}
	return all.Wait()
}

func (h *Hooks) read(key string) (m Message, e Endpoint, err error) {
	b, err := h.outbox.Get(key)
	if err == nil && b == nil {
		err = ErrNone
	}
	if err == nil {
		err = json.Unmarshal(b, &m)
	}
	if err != nil {
		return m, e, err
	}
	m.Key = key
	e, err = h.endpoint(m.Endpoint)
	return m, e, err
}

// send tries one message and keeps how that went.
func (h *Hooks) send(ctx context.Context, key string) error {
	m, e, err := h.read(key)
	if errors.Is(err, ErrNone) || err == nil && !e.Ended.IsZero() {
		h.changes.Lock()
		delete(h.waits, key) // one of an endpoint out of use waits in the outbox
		h.changes.Unlock()
		return nil
	}
	if err != nil {
		return err
	}
	status, why := h.post(ctx, &m, &e)
	if ctx.Err() != nil {
		return nil // it is tried again by the next start
	}
	h.changes.Lock()
	defer h.changes.Unlock()
	if e, err = h.endpoint(e.ID); err != nil {
		return nil // removed meanwhile, with its messages
	}
	now := h.now().UTC()
	m.Tries, m.Status, m.Why, m.Next = m.Tries+1, status, why, time.Time{}
	steps := []store.Step{}
	switch {
	case why == "":
		m.Arrived, e.Failing = now, time.Time{}
	case status == http.StatusGone:
		steps = append(steps, h.ended(&e, now, "it answered 410 Gone"))
	default:
		e.Failing = cmp.Or(e.Failing, now)
		if m.Tries <= len(waits) {
			m.Next = now.Add(waits[m.Tries-1])
		}
		if now.Sub(e.Failing) > failsFor {
			steps = append(steps, h.ended(&e, now, "nothing arrived for five days: "+why))
		}
	}
	b, err := json.Marshal(e)
	if err != nil {
		return err
	}
	kept, err := h.putting(m)
	if err != nil {
		return err
	}
	if err := h.store.Keep(append(steps, h.ends.Putting(e.ID, b), kept)...); err != nil {
		return err
	}
	if m.Next.IsZero() {
		delete(h.waits, key)
	} else {
		h.waits[key] = m.Next
	}
	return nil
}

// ended puts an endpoint out of use, and is the step that notes it.
func (h *Hooks) ended(e *Endpoint, now time.Time, why string) store.Step {
	e.Ended, e.Why = now, why
	h.log.Warn("a webhook endpoint is out of use", "name", e.Name, "why", why)
	return store.Noting(store.Event{Kind: "hook_ended", About: e.Name, Detail: why})
}

// post sends a message once.
//
// Gives: the status of the answer, 0 for none; why it did not arrive, "" where it did.
func (h *Hooks) post(ctx context.Context, m *Message, e *Endpoint) (status int, why string) {
	at := h.now()
	signature, err := Sign(e.Secret, m.ID, at, m.Body)
	if err != nil {
		return 0, err.Error()
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, e.URL, bytes.NewReader(m.Body))
	if err != nil {
		return 0, brief(err.Error())
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("User-Agent", "gaugewright")
	r.Header.Set("webhook-id", m.ID)
	r.Header.Set("webhook-timestamp", strconv.FormatInt(at.Unix(), 10))
	r.Header.Set("webhook-signature", signature)
	res, err := h.client.Do(r)
	if err != nil {
		return 0, brief(err.Error())
	}
	said, _ := io.ReadAll(io.LimitReader(res.Body, longestWhy)) // what broke off says enough
	_ = res.Body.Close()
	if res.StatusCode >= 200 && res.StatusCode < 300 {
		return res.StatusCode, ""
	}
	return res.StatusCode, brief(res.Status + ": " + string(said))
}

func brief(text string) string {
	line := []rune(strings.Join(strings.Fields(strings.ToValidUTF8(text, "?")), " "))
	return string(line[:min(len(line), longestWhy)])
}

// Again sends a message once more, now, whether it arrived or not.
//
// Refuses: ErrNone.
func (h *Hooks) Again(key string, with store.Step) error {
	h.changes.Lock()
	defer h.changes.Unlock()
	m, _, err := h.read(key)
	if err != nil {
		return err
	}
	m.Next, m.Tries, m.Arrived = h.now().UTC(), 0, time.Time{}
	step, err := h.putting(m)
	if err != nil {
		return err
	}
	if err := h.store.Keep(step, with); err != nil {
		return err
	}
	h.waits[key] = m.Next
	h.wake()
	return nil
}
