package mail

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/sync/change"
	"gaugewright/sync/store"

	gomail "github.com/wneessen/go-mail"
)

// Server is the mail server that takes the messages.
type Server struct {
	Address  string // HOST:PORT; "" for none: nothing is sent
	From     string
	User     string // "" for no log-in
	Password string
	TLS      bool        // TLS from the first byte, else STARTTLS
	Plain    bool        // neither: only on this machine itself
	Hour     int         // of the day at which digests are written
	Trust    *tls.Config // for tests: whom to trust; nil for the machine's authorities
}

// Mail sends messages to people.
type Mail struct {
	Server
	store  *store.Store
	office *office.Office
	keeper *auth.Keeper
	now    func() time.Time
	base   string // the plant's address for people, "" if unknown
	log    *slog.Logger
	people store.Private
	outbox store.Private
	marks  store.Private
	cursor office.Cursor
	turn   *store.Turn

	mu   sync.Mutex
	last State
}

// State is the state of sending.
type State struct {
	Waiting int       // messages in the outbox
	Sent    time.Time // when the last one went, zero for none since the start
	Failed  time.Time // when handing over last failed
	Why     string
}

// New returns the Mail of a store.
func New(
	s *store.Store, o *office.Office, k *auth.Keeper, now func() time.Time, to Server, base string, log *slog.Logger,
) *Mail {
	marks := s.Private("mail marks")
	return &Mail{
		Server: to, store: s, office: o, keeper: k, now: now, base: strings.TrimRight(base, "/"), log: log,
		people: s.Private("mail people"), outbox: s.Private("mail outbox"), marks: marks,
		cursor: office.NewCursor(s, marks), turn: s.Turn("mail", 6*patience),
	}
}

// letter is a waiting message.
type letter struct {
	To      string    `json:"to"`
	Subject string    `json:"subject"`
	Body    string    `json:"body"`
	Made    time.Time `json:"made"`
	Tries   int       `json:"tries"`
	Next    time.Time `json:"next"`
}

const (
	lookEvery = 5 * time.Second
	// keepTrying is how long a message is retried: longer than a mail server is down over a
	// weekend.
	keepTrying = 2 * 24 * time.Hour
	longestGap = 2 * time.Hour
	patience   = 30 * time.Second
	piece      = 500
)

// Run sends messages until the context ends.
func (m *Mail) Run(ctx context.Context) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	defer func() {
		if err := m.turn.Pass(); err != nil && !errors.Is(err, store.ErrClosed) {
			m.log.Error("mail waits for the next server", "error", err)
		}
	}()
	for {
		if err := m.Step(ctx); err != nil && ctx.Err() == nil && !errors.Is(err, store.ErrClosed) {
			m.log.Error("mail waits", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// Step writes what is due and hands over what waits, where it is this server's turn.
func (m *Mail) Step(ctx context.Context) error {
	if m.Address == "" && m.store.Shared() {
		return nil // another server may have one
	}
	if m.Address == "" { // what happens meanwhile is not told when it is turned on again
		b, err := m.marks.Get(cursorMark)
		if err != nil || b == nil {
			return err
		}
		return m.marks.Delete(cursorMark)
	}
	if mine, _, err := m.turn.Mine(m.now()); err != nil || !mine {
		return err
	}
	if err := m.failures(); err != nil {
		return err
	}
	if err := m.digests(); err != nil {
		return err
	}
	return m.sendAll(ctx)
}

// failures writes messages about safety functions that failed since.
func (m *Mail) failures() error {
	from, err := m.cursor.At()
	if err != nil {
		return err
	}
	list, last, err := m.office.Happened(from, piece)
	if err != nil {
		return err
	}
	moving, err := m.cursor.Moving(last)
	if err != nil {
		return err
	}
	if last == from {
		if b, err := m.marks.Get(cursorMark); err != nil || b != nil {
			return err
		}
		return m.store.Keep(moving) // the starting point
	}
	steps := []store.Step{moving}
	for i := range list {
		one := &list[i]
		if one.Kind != office.InstrumentFailed || !one.Data.Safety {
			continue
		}
		more, err := m.toAll(func(p *Person, _ auth.User) (string, string, error) {
			if !p.AtOnce {
				return "", "", nil
			}
			subject, body := failure(p.Language, &one.Data, m.base)
			return subject, body, nil
		})
		if err != nil {
			return err
		}
		steps = append(steps, more...)
	}
	return m.store.Keep(steps...)
}

// toAll returns the steps that put a message for each interested person into the outbox.
func (m *Mail) toAll(write func(*Person, auth.User) (subject, body string, err error)) (steps []store.Step, err error) {
	users, err := m.keeper.Users()
	if err != nil {
		return nil, err
	}
	for i := range users {
		if !works(&users[i]) {
			continue
		}
		p, err := m.person(users[i].ID)
		if err != nil {
			return nil, err
		}
		if p.Address == "" {
			continue
		}
		subject, body, err := write(&p, users[i])
		if err != nil || body == "" {
			if err != nil {
				return nil, err
			}
			continue
		}
		step, err := m.putting(letter{To: p.Address, Subject: subject, Body: body, Made: m.now().UTC()}, "")
		if err != nil {
			return nil, err
		}
		steps = append(steps, step)
	}
	return steps, nil
}

func (m *Mail) putting(l letter, key string) (store.Step, error) {
	if key == "" {
		id, err := change.NewID(rand.Reader)
		if err != nil {
			return store.Step{}, err
		}
		key = fmt.Sprintf("%020d %s", l.Made.UnixNano(), id)
	}
	b, err := json.Marshal(l)
	return m.outbox.Putting(key, b), err
}

const (
	digestMark = "digest"
	cursorMark = office.CursorMark
)

// digests writes the digests of a day, once, from its hour on.
func (m *Mail) digests() error {
	now := m.now()
	today := now.Format(time.DateOnly)
	if now.Hour() < m.Hour {
		return nil
	}
	b, err := m.marks.Get(digestMark)
	if err != nil || string(b) == today {
		return err
	}
	since := now.AddDate(0, 0, -1)
	if at, err := time.ParseInLocation(time.DateOnly, string(b), now.Location()); err == nil {
		since = at.Add(time.Duration(m.Hour) * time.Hour)
	}
	steps, err := m.toAll(func(p *Person, u auth.User) (string, string, error) {
		if !p.Daily {
			return "", "", nil
		}
		d, err := m.office.Digest(u, since)
		if err != nil || d.Empty() {
			return "", "", err
		}
		subject, body := digest(p.Language, &d, today, m.base)
		return subject, body, nil
	})
	if err != nil {
		return err
	}
	return m.store.Keep(append(steps, m.marks.Putting(digestMark, []byte(today)))...)
}

// sendAll hands over every message whose next try is due.
func (m *Mail) sendAll(ctx context.Context) error {
	due := map[string]letter{}
	waiting := 0
	err := m.outbox.Each(func(key string, v []byte) error {
		var l letter
		if err := json.Unmarshal(v, &l); err != nil {
			return fmt.Errorf("a message is damaged: %w", err)
		}
		if waiting++; !l.Next.After(m.now()) {
			due[key] = l
		}
		return nil
	})
	if err != nil {
		return err
	}
	keys := make([]string, 0, len(due))
	for key := range due {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	for _, key := range keys {
		if mine, _, err := m.turn.Mine(m.now()); err != nil || !mine {
			return err
		}
		went := m.hand(ctx, due[key])
		if ctx.Err() != nil {
			return nil // the next start tries it again
		}
		gone, err := m.handed(key, due[key], went)
		if err != nil {
			return err
		}
		if gone {
			waiting--
		}
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.last.Waiting = waiting
	return nil
}

// handed records the result of handing over.
func (m *Mail) handed(key string, l letter, went error) (gone bool, err error) {
	now := m.now().UTC()
	m.mu.Lock()
	if went == nil {
		m.last.Sent, m.last.Why = now, ""
	} else {
		m.last.Failed, m.last.Why = now, went.Error()
	}
	m.mu.Unlock()
	if went == nil {
		return true, m.outbox.Delete(key)
	}
	m.log.Warn("a message was not taken", "why", went)
	if now.Sub(l.Made) > keepTrying {
		return true, m.outbox.Delete(key, store.Noting(store.Event{Kind: "mail_given_up", Detail: brief(went.Error())}))
	}
	l.Tries++
	l.Next = now.Add(min(longestGap, time.Minute<<min(l.Tries-1, 10)))
	step, err := m.putting(l, key)
	if err != nil {
		return false, err
	}
	return false, m.store.Keep(step)
}

func brief(text string) string {
	const longest = 200
	line := []rune(strings.Join(strings.Fields(strings.ToValidUTF8(text, "?")), " "))
	return string(line[:min(len(line), longest)])
}

// hand hands one message to the mail server.
func (m *Mail) hand(ctx context.Context, l letter) error {
	host, portText, err := net.SplitHostPort(m.Address)
	if err != nil {
		return err
	}
	port, err := strconv.Atoi(portText)
	if err != nil {
		return err
	}
	msg := gomail.NewMsg()
	if err := errors.Join(msg.From(m.From), msg.To(l.To)); err != nil {
		return err
	}
	msg.Subject(l.Subject)
	msg.SetDateWithValue(l.Made)
	msg.SetMessageID()
	msg.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834, 5
	msg.SetBodyString(gomail.TypeTextPlain, l.Body)
	options := []gomail.Option{gomail.WithPort(port), gomail.WithTimeout(patience), gomail.WithTLSPolicy(gomail.TLSMandatory)}
	switch {
	case m.TLS:
		options = append(options, gomail.WithSSL())
	case m.Plain:
		options = append(options, gomail.WithTLSPolicy(gomail.NoTLS))
	}
	if m.Trust != nil {
		options = append(options, gomail.WithTLSConfig(m.Trust))
	}
	if m.User != "" {
		kind := gomail.SMTPAuthAutoDiscover
		options = append(options, gomail.WithSMTPAuth(kind), gomail.WithUsername(m.User), gomail.WithPassword(m.Password))
	}
	c, err := gomail.NewClient(host, options...)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	return c.DialAndSendWithContext(ctx, msg)
}

// Now returns the state of sending.
func (m *Mail) Now() State {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.last
}

// Try hands over one message now, to see whether the mail server takes it.
//
// Refuses: what the mail server says.
func (m *Mail) Try(ctx context.Context, person string) error {
	p, err := m.person(person)
	if err != nil {
		return err
	}
	if m.Address == "" || p.Address == "" {
		return ErrOff
	}
	t := languages[p.Language]
	var b strings.Builder
	t.end(&b, m.base)
	if err := m.hand(ctx, letter{
		To: p.Address, Subject: fmt.Sprintf(t.digest, t.date(m.now().Format(time.DateOnly))), Body: b.String(),
		Made: m.now(),
	}); err != nil {
		return fmt.Errorf("%w: %s", ErrNotTaken, brief(err.Error()))
	}
	return nil
}

var (
	// ErrOff is returned if no mail server is configured, or a person has no address.
	ErrOff = errors.New("no mail server is configured, or this person has no address")
	// ErrNotTaken is wrapped if the mail server refuses a message.
	ErrNotTaken = errors.New("the mail server did not take it")
)
