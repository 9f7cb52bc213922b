package desk

import (
	"context"
	"encoding/json"
	"errors"
	"strconv"
	"sync"
	"time"

	"gaugewright/calc/numeric"
	"gaugewright/server/office"
	"gaugewright/sync/store"
)

var (
	// ErrAbove is returned at a hub: the office above it decides this.
	ErrAbove = errors.New("this is done at the office, not at a hub")
	// ErrBusy is wrapped if a look-back is already being calculated.
	ErrBusy = errors.New("it is being calculated already")
	// ErrUndecided is wrapped if an instrument would be closed without a decision.
	ErrUndecided = errors.New("decide first what follows for this instrument")
)

// Desk answers the office's questions over many records.
type Desk struct {
	store  *store.Store
	office *office.Office
	now    func() time.Time
	life   context.Context // context of what runs in the background

	mu   sync.Mutex
	jobs map[string]*Progress // by look-back
}

// New returns the desk of an office; what it runs in the background ends with life.
func New(life context.Context, s *store.Store, o *office.Office, now func() time.Time) *Desk {
	return &Desk{store: s, office: o, now: now, life: life, jobs: map[string]*Progress{}}
}

// soonDays is how many days ahead a due standard is pointed out, so that its calibration can be
// arranged. Common practice, no source.
const soonDays = 60

func (d *Desk) today() string { return d.now().Format(time.DateOnly) }

func (d *Desk) in(days int) string { return d.now().AddDate(0, 0, days).Format(time.DateOnly) }

// daysTo returns how many days away a date is, and whether it is valid.
func (d *Desk) daysTo(date string) (int, bool) {
	day, err := time.Parse(time.DateOnly, first(date, 10))
	if err != nil {
		return 0, false
	}
	now, err := time.Parse(time.DateOnly, d.today())
	return int(day.Sub(now).Hours() / 24), err == nil
}

// moment formats a moment by the office's calendar and clock.
func (d *Desk) moment(at string) string {
	t, err := time.Parse(time.RFC3339, at)
	if err != nil {
		return at
	}
	return t.In(d.now().Location()).Format("2006-01-02 15:04:05")
}

func first(text string, n int) string { return text[:min(n, len(text))] }

// places is how many digits a figure calculated here has.
const places = 5

// figure writes a calculated number without meaningless digits.
func figure(x float64) string {
	return strconv.FormatFloat(numeric.RoundSignificant(x, places), 'f', -1, 64)
}

// fields reads a JSON object without losing a member.
func fields(b json.RawMessage) map[string]json.RawMessage {
	var m map[string]json.RawMessage
	if json.Unmarshal(b, &m) != nil || m == nil {
		return map[string]json.RawMessage{}
	}
	return m
}

// joined writes members as a JSON object.
func joined(m map[string]json.RawMessage) json.RawMessage {
	b, err := json.Marshal(m)
	if err != nil { // members are JSON
		panic(err)
	}
	return b
}
