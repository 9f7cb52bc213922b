package hooks

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/office"
	"gaugewright/sync/store"
)

const (
	// lookEvery is how soon an event is in the outbox.
	lookEvery = time.Second
	// piece is how many events are read at once.
	piece = 500
	// DueDays is how many days ahead something is reported as due soon.
	DueDays = 14
	// kept is how long a message stays in the log, and mostKept how many do.
	kept     = 30 * 24 * time.Hour
	mostKept = 20_000
)

// Message is one event for one endpoint.
type Message struct {
	Key      string          `json:"-"`
	ID       string          `json:"id"` // webhook-id: the same for every try
	Endpoint string          `json:"endpoint"`
	Event    string          `json:"event"`
	Body     json.RawMessage `json:"body"`
	Made     time.Time       `json:"made"`
	Tries    int             `json:"tries"`
	Next     time.Time       `json:"next"` // time of the next try, zero for none
	Arrived  time.Time       `json:"arrived"`
	Status   int             `json:"status"` // of the last answer, 0 if there was none
	Why      string          `json:"why"`    // why it did not arrive
}

// keyOf returns the key that orders messages by when they were made.
func keyOf(m *Message) string { return fmt.Sprintf("%020d %s", m.Made.UnixNano(), m.ID) }

func (h *Hooks) putting(m Message) (store.Step, error) {
	b, err := json.Marshal(m)
	return h.outbox.Putting(m.Key, b), err
}

func (h *Hooks) each(to func(key string, m Message)) error {
	return h.outbox.Each(func(key string, v []byte) error {
		var m Message
		if err := json.Unmarshal(v, &m); err != nil {
			return fmt.Errorf("a message is damaged: %w", err)
		}
		m.Key = key
		to(key, m)
		return nil
	})
}

// look puts new events into the outbox.
func (h *Hooks) look() error {
	h.changes.Lock()
	defer h.changes.Unlock()
	ends, err := h.Endpoints()
	if err != nil || len(ends) == 0 {
		return err
	}
	from, err := h.cursor.At()
	if err != nil {
		return err
	}
	for {
		list, last, err := h.office.Happened(from, piece)
		if err != nil {
			return err
		}
		if last == from {
			break
		}
		moved, err := h.cursor.Moving(last)
		if err != nil {
			return err
		}
		if err := h.tell(ends, list, []store.Step{moved}); err != nil {
			return err
		}
		from = last
	}
	return h.lookDue(ends)
}

// tell puts messages into the outbox and runs steps in the same transaction.
func (h *Hooks) tell(ends []Endpoint, list []office.Happening, steps []store.Step) error {
	fresh := map[string]time.Time{}
	for i := range list {
		one := &list[i]
		for _, e := range ends {
			if !e.wants(one) {
				continue
			}
			m, err := h.message(&e, one, i)
			if err != nil {
				return err
			}
			step, err := h.putting(m)
			if err != nil {
				return err
			}
			steps = append(steps, step)
			fresh[m.Key] = m.Next
		}
	}
	if err := h.store.Keep(steps...); err != nil {
		return err
	}
	for key, at := range fresh {
		h.waits[key] = at
	}
	return nil
}

func (h *Hooks) message(e *Endpoint, one *office.Happening, n int) (m Message, err error) {
	at := h.now().UTC()
	body, err := json.Marshal(struct {
		Type      string        `json:"type"`
		Timestamp string        `json:"timestamp"`
		Data      office.Notice `json:"data"`
	}{one.Kind, one.At, one.Data})
	// A message keeps its id for every try, so that its receiver recognises it.
	of := strconv.FormatUint(one.Seq, 10) + "_" + strings.ReplaceAll(one.Kind, ".", "_")
	if one.Seq == 0 {
		of = one.Data.Instrument + one.Data.Standard + "_" + one.Data.Due
	}
	m = Message{
		ID: "msg_" + of + "_" + e.ID[:8], Endpoint: e.ID, Event: one.Kind, Body: body,
		Made: at.Add(time.Duration(n)), Next: at,
	}
	m.Key = keyOf(&m)
	return m, err
}

// lookDue reports, once a day, what falls due soon and was not reported yet.
func (h *Hooks) lookDue(ends []Endpoint) error {
	now := h.now()
	if now.Sub(h.asked) < time.Hour {
		return nil
	}
	from, to := now.Format(time.DateOnly), now.AddDate(0, 0, DueDays).Format(time.DateOnly)
	all, err := h.office.DueWithin(from, to)
	if err != nil {
		return err
	}
	var list []office.Happening
	var steps []store.Step
	for _, one := range all {
		mark := "due " + one.Data.Due + " " + one.Data.Instrument + one.Data.Standard
		had, err := h.marks.Get(mark)
		if err != nil {
			return err
		}
		if had == nil {
			list, steps = append(list, one), append(steps, h.marks.Putting(mark, []byte(from)))
		}
	}
	h.asked = now
	if len(list) == 0 {
		return nil
	}
	return h.tell(ends, list, steps)
}

// tidy removes expired messages, once an hour.
func (h *Hooks) tidy() error {
	h.changes.Lock()
	defer h.changes.Unlock()
	now := h.now()
	if now.Sub(h.tidied) < time.Hour {
		return nil
	}
	var keys []string
	var gone []store.Step
	err := h.each(func(key string, m Message) {
		if m.Next.IsZero() && now.Sub(m.Made) > kept {
			gone = append(gone, h.outbox.Deleting(key))
		} else if m.Next.IsZero() {
			keys = append(keys, key)
		}
	})
	if err != nil {
		return err
	}
	for _, key := range keys[:max(0, len(keys)-mostKept)] {
		gone = append(gone, h.outbox.Deleting(key))
	}
	past := "due " + now.AddDate(0, -1, 0).Format(time.DateOnly)
	err = h.marks.Each(func(k string, _ []byte) error {
		if strings.HasPrefix(k, "due ") && k < past {
			gone = append(gone, h.marks.Deleting(k))
		}
		return nil
	})
	if err != nil {
		return err
	}
	h.tidied = now
	return h.store.Keep(gone...)
}

// Log lists the messages, the newest first, after a key ("": from the newest), and returns the key
// to continue after, "" at the end.
func (h *Hooks) Log(endpoint, after string, most int) (list []Message, next string, err error) {
	err = h.each(func(key string, m Message) {
		if (endpoint == "" || m.Endpoint == endpoint) && (after == "" || key < after) {
			list = append(list, m)
		}
	})
	slices.Reverse(list)
	if len(list) > most {
		list, next = list[:most], list[most-1].Key
	}
	return list, next, err
}
