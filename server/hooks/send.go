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

// waits are the intervals between tries. The specification proposes such a schedule: for some days,
// with growing intervals (from memory).
var waits = []time.Duration{
	5 * time.Second, 5 * time.Minute, 30 * time.Minute, 2 * time.Hour, 5 * time.Hour, 10 * time.Hour,
	14 * time.Hour, 20 * time.Hour, 24 * time.Hour,
}

const (
	// failsFor is how long an endpoint may fail before it is disabled.
	failsFor = 5 * 24 * time.Hour
	// atOnce is how many messages are sent at the same time.
	atOnce = 4
	// againMark begins the mark of a message, or of an endpoint with all that waits for it, that is to
	// be sent again: the server whose turn it is finds it.
	againMark = "again "
	// longestWhy is what is kept of why a message did not arrive.
	longestWhy = 200
)

// Sign signs a message: HMAC-SHA256 over its id, its time in seconds and its body, separated by
// dots.
//
// Source: Standard Webhooks 1.0, "Signature scheme".
func Sign(secret, id string, at time.Time, body []byte) (string, error) {
	key, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(secret, secretPrefix))
	if err != nil {
		return "", fmt.Errorf("the secret of an endpoint is damaged: %w", err)
	}
	mac := hmac.New(sha256.New, key)
	_, _ = fmt.Fprintf(mac, "%s.%d.%s", id, at.Unix(), body) // a hash never fails
	return "v1," + base64.StdEncoding.EncodeToString(mac.Sum(nil)), nil
}

// Run reports events until the context ends.
func (h *Hooks) Run(ctx context.Context) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	defer func() {
		if err := h.turn.Pass(); err != nil && !errors.Is(err, store.ErrClosed) {
			h.log.Error("webhooks wait for the next server", "error", err)
		}
	}()
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

// Step puts what happened into the outbox and sends what is due, where it is this server's turn.
func (h *Hooks) Step(ctx context.Context) error {
	mine, fresh, err := h.turn.Mine(h.now())
	if err != nil || !mine {
		return err
	}
	if err := h.load(fresh); err != nil {
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

// load reads what waits to be sent, at the beginning of a turn; later what is to be sent again, which
// any server may have been notified.
func (h *Hooks) load(fresh bool) error {
	h.changes.Lock()
	defer h.changes.Unlock()
	for {
		mark, key, err := h.marks.From(againMark)
		if err != nil {
			return err
		}
		if !strings.HasPrefix(mark, againMark) {
			break
		}
		fresh = fresh || len(key) == 0 // all of an endpoint
		if len(key) > 0 {
			m, _, err := h.read(string(key))
			if err != nil && !errors.Is(err, ErrNone) {
				return err
			}
			if err == nil && !m.Next.IsZero() {
				h.waits[m.Key] = m.Next
			}
		}
		if err := h.marks.Delete(mark); err != nil {
			return err
		}
	}
	if !fresh {
		return nil
	}
	clear(h.waits)
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
	for part := range slices.Chunk(due, atOnce) {
		// The turn lasts longer than any of them takes.
		if mine, _, err := h.turn.Mine(h.now()); err != nil || !mine {
			return err
		}
		var all errgroup.Group
		for _, key := range part {
			all.Go(func() error { return h.send(ctx, key) })
		}
		if err := all.Wait(); err != nil {
			return err
		}
	}
	return nil
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

// send tries one message and records the result.
func (h *Hooks) send(ctx context.Context, key string) error {
	m, e, err := h.read(key)
	if errors.Is(err, ErrNone) || err == nil && !e.Ended.IsZero() {
		h.changes.Lock()
		delete(h.waits, key) // messages of a disabled endpoint wait in the outbox
		h.changes.Unlock()
		return nil
	}
	if err != nil {
		return err
	}
	status, why := h.post(ctx, &m, &e)
	if ctx.Err() != nil {
		return nil // the next start tries it again
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

// ended disables an endpoint, and returns the step that notes it.
func (h *Hooks) ended(e *Endpoint, now time.Time, why string) store.Step {
	e.Ended, e.Why = now, why
	h.log.Warn("a webhook endpoint is out of use", "name", e.Name, "why", why)
	return store.Noting(store.Event{Kind: "hook_ended", About: e.Name, Detail: why})
}

// post sends a message once.
//
// Gives: the status of the answer, 0 for none; why it did not arrive, or "".
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
	said, _ := io.ReadAll(io.LimitReader(res.Body, longestWhy)) // a broken-off answer says enough
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

// Again sends a message again now, whether it arrived or not.
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
	if err := h.store.Keep(step, with, h.marks.Putting(againMark+key, []byte(key))); err != nil {
		return err
	}
	h.wake()
	return nil
}
