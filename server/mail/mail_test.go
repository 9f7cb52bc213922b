package mail_test

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"io"
	"log/slog"
	"math/big"
	random "math/rand/v2"
	"mime"
	"mime/quotedprintable"
	"net"
	netmail "net/mail"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/mail"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
)

type doc = map[string]any

// post is a real mail server.
type post struct {
	address string
	trust   *tls.Config
	mu      sync.Mutex
	refuses bool
	logins  int
	plain   bool // a client sent a message without TLS
	got     []letter
}

type letter struct{ to, subject, body string }

const password = "the password of the mail server"

// newPost starts a mail server that takes messages from clients logged in over STARTTLS.
func newPost(t *testing.T, withTLS bool) *post {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	cert := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "post"}, IsCA: true, BasicConstraintsValid: true,
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
	}
	der, err := x509.CreateCertificate(rand.Reader, cert, cert, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	parsed, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(parsed)
	p := &post{trust: &tls.Config{RootCAs: pool, ServerName: "127.0.0.1", MinVersion: tls.VersionTLS12}}
	s := smtp.NewServer(p)
	s.Domain = "post.example"
	if withTLS {
		s.TLSConfig = &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{der}, PrivateKey: key}}}
	} else {
		s.AllowInsecureAuth = true
	}
	socket, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p.address = socket.Addr().String()
	go func() { _ = s.Serve(socket) }()
	t.Cleanup(func() { _ = s.Close() })
	return p
}

func (p *post) NewSession(c *smtp.Conn) (smtp.Session, error) {
	_, safe := c.TLSConnectionState()
	return &session{post: p, safe: safe}, nil
}

type session struct {
	post *post
	safe bool
	in   bool
	to   string
}

func (s *session) AuthMechanisms() []string { return []string{sasl.Plain} }

func (s *session) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, name, word string) error {
		s.post.mu.Lock()
		defer s.post.mu.Unlock()
		s.post.logins++
		if name != "plant" || word != password {
			return smtp.ErrAuthFailed
		}
		s.in = true
		return nil
	}), nil
}

func (s *session) Mail(string, *smtp.MailOptions) error {
	s.post.mu.Lock()
	defer s.post.mu.Unlock()
	s.post.plain = s.post.plain || !s.safe
	switch {
	case !s.in:
		return smtp.ErrAuthRequired
	case s.post.refuses:
		return &smtp.SMTPError{Code: 451, Message: "try again later"}
	}
	return nil
}

func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error { s.to = to; return nil }

func (s *session) Data(r io.Reader) error {
	m, err := netmail.ReadMessage(r)
	if err != nil {
		return err
	}
	subject, err := new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject"))
	if err != nil {
		return err
	}
	if m.Header.Get("Auto-Submitted") != "auto-generated" || m.Header.Get("Message-ID") == "" ||
		m.Header.Get("Date") == "" || m.Header.Get("Content-Transfer-Encoding") != "quoted-printable" {
		return errors.New("a header is missing")
	}
	body, err := io.ReadAll(quotedprintable.NewReader(m.Body))
	if err != nil {
		return err
	}
	s.post.mu.Lock()
	defer s.post.mu.Unlock()
	s.post.got = append(s.post.got, letter{s.to, subject, strings.ReplaceAll(string(body), "\r\n", "\n")})
	return nil
}

func (s *session) Reset()        {}
func (s *session) Logout() error { return nil }

// taken returns what came, by receiver, and clears it.
func (p *post) taken() map[string][]letter {
	p.mu.Lock()
	defer p.mu.Unlock()
	all := map[string][]letter{}
	for _, l := range p.got {
		all[l.to] = append(all[l.to], l)
	}
	p.got = nil
	return all
}

func (p *post) refuse(yes bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.refuses = yes
}

type site struct {
	t       *testing.T
	store   *store.Store
	keeper  *auth.Keeper
	now     time.Time
	drafter plant.Drafter
	post    *post
	mail    *mail.Mail
}

func newSite(t *testing.T, to *post) *site {
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	p := &site{t: t, store: s, now: time.Date(2026, 3, 4, 5, 0, 0, 0, time.UTC), post: to,
		drafter: plant.Drafter{Device: "ph0ne", Author: "tech", Random: random.NewChaCha8([32]byte{4})}}
	if p.keeper, err = auth.New(s, p.clock); err != nil {
		t.Fatal(err)
	}
	for name, role := range map[string]auth.Role{"tech": auth.Technician, "rev": auth.Reviewer, "adm": auth.Administrator} {
		if _, err := p.keeper.Add(name, name, role, "a long enough secret"); err != nil {
			t.Fatal(err)
		}
	}
	p.open()
	p.wants(mail.Person{ID: "tech", Address: "tech@plant.example", Daily: true})
	p.wants(mail.Person{ID: "rev", Address: "rev@plant.example", Daily: true, AtOnce: true, Language: "de"})
	p.wants(mail.Person{ID: "adm", Address: "adm@plant.example"})
	return p
}

func (p *site) clock() time.Time { return p.now }

// open starts sending, as after a restart.
func (p *site) open() {
	p.mail = mail.New(p.store, office.New(p.store, p.keeper, p.clock), p.keeper, p.clock, mail.Server{
		Address: p.post.address, From: "Plant <plant@plant.example>", User: "plant", Password: password, Hour: 6,
		Trust: p.post.trust,
	}, "https://plant.example", slog.New(slog.DiscardHandler))
}

func (p *site) wants(one mail.Person) {
	p.t.Helper()
	if err := p.mail.Set(one, noted("mail_set")); err != nil {
		p.t.Fatal(err)
	}
}

func noted(kind string) store.Step { return store.Noting(store.Event{Kind: kind}) }

func (p *site) step() map[string][]letter {
	p.t.Helper()
	if err := p.mail.Step(context.Background()); err != nil {
		p.t.Fatal(err)
	}
	return p.post.taken()
}

func set(field string, value any) plant.Set { return plant.Set{Field: field, Value: value} }

func (p *site) keep(c change.Change, s merge.State, err error) merge.State {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
	if r, err := p.store.Add(p.t.Context(), []change.Change{c}); err != nil || len(r.Refused) > 0 {
		p.t.Fatal(err, r.Refused)
	}
	return s
}

// failed makes a signed visit that failed, for a safety function or another instrument.
func (p *site) failed(tag string, safety bool) merge.State {
	v := p.keep(p.drafter.New("visit", "", "", p.now, set("item", doc{"tag": tag, "serial": "S1", "area": "Süd", "place": "Kessel 2"}),
		set("started", plant.Stamp(p.now)), set("person", "tech"), set("summary", doc{"as_found": doc{"verdict": "fail"}})))
	p.keep(p.drafter.New("run", "", v.ID, p.now, set("label", "as found"), set("closed", doc{"at": plant.Stamp(p.now)}),
		set("plan", doc{"steps": []doc{}, "as_found_once": safety}),
		set("finding", doc{"verdict": "fail", "complete": true, "readings": []doc{}, "points": []doc{}})))
	return p.keep(p.drafter.Edit(v, p.now, set("signature", doc{"name": "T", "at": plant.Stamp(p.now)})))
}

// TestAFailedSafetyFunction checks that those who want it get it at once, in their language,
// once.
func TestAFailedSafetyFunction(t *testing.T) {
	p := newSite(t, newPost(t, true))
	p.step()
	p.failed("PI-1", false)
	v := p.failed("PSH-2", true)
	got := p.step()
	if len(got) != 1 || len(got["rev@plant.example"]) != 1 {
		t.Fatalf("%+v", got)
	}
	l := got["rev@plant.example"][0]
	for _, want := range []string{
		"Seriennummer S1", "Süd, Kessel 2", "nicht bestanden", "ersetzt nicht den Anruf", "https://plant.example/office/visit/" + v.ID,
	} {
		if !strings.Contains(l.body, want) {
			t.Errorf("%q is not in %q", want, l.body)
		}
	}
	if l.subject != "Sicherheitsfunktion hat die Prüfung nicht bestanden: PSH-2" {
		t.Errorf("%q", l.subject)
	}
	p.open()
	if got := p.step(); len(got) != 0 {
		t.Errorf("again after a restart: %+v", got)
	}
	address := p.post.address
	p.post.address = "" // turned off for a while
	p.open()
	p.step()
	p.failed("PSH-3", true)
	p.step()
	p.post.address = address
	p.open()
	if got := p.step(); len(got) != 0 {
		t.Errorf("of the time when it was off: %+v", got)
	}
	if p.post.plain || p.post.logins == 0 {
		t.Errorf("without TLS: %v, %d log-ins", p.post.plain, p.post.logins)
	}
}

// TestTheDigest checks that it comes once a day, from its hour on, and says what its reader has to
// do.
func TestTheDigest(t *testing.T) {
	p := newSite(t, newPost(t, true))
	p.failed("PI-1", false)
	p.keep(p.drafter.New("instrument", "", "", p.now, set("tag", "PI-7"), set("due", "2026-03-01"), set("status", "in service")))
	p.keep(p.drafter.New("instrument", "", "", p.now, set("tag", "PI-8"), set("due", "2026-03-10"), set("status", "in service")))
	p.keep(p.drafter.New("instrument", "", "", p.now, set("tag", "PI-9"), set("due", "2026-09-10"), set("status", "in service")))
	p.keep(p.drafter.New("standard", "", "", p.now, set("name", "master 3"), set("due", "2026-03-12")))
	p.keep(p.drafter.New("round", "", "", p.now, set("date", "2026-03-04"), set("person", "tech"), set("title", "Boiler house"), set("stops", []doc{})))
	p.keep(p.drafter.New("round", "", "", p.now, set("date", "2026-03-04"), set("person", "rev"), set("title", "not theirs"), set("stops", []doc{})))
	if got := p.step(); len(got) != 0 {
		t.Errorf("before its hour: %+v", got)
	}
	p.now = p.now.Add(90 * time.Minute)
	got := p.step()
	if len(got) != 2 || len(got["rev@plant.example"]) != 1 || len(got["tech@plant.example"]) != 1 {
		t.Fatalf("%+v", got)
	}
	desk, phone := got["rev@plant.example"][0], got["tech@plant.example"][0]
	if desk.subject != "Geräte am 04.03.2026" || phone.subject != "Instruments on 4 March 2026" {
		t.Errorf("%q, %q", desk.subject, phone.subject)
	}
	for _, want := range []string{
		"Prüfungen zur Freigabe: 1\n  PI-1, Kessel 2, 04.03.2026", "nicht bestanden: 1\n", "Überfällig: 1\n  PI-7, 01.03.2026",
		"Fällig in 14 Tagen: 1\n  PI-8", "Normale: 1\n  master 3, 12.03.2026",
	} {
		if !strings.Contains(desk.body, want) {
			t.Errorf("%q is not in %q", want, desk.body)
		}
	}
	if !strings.HasPrefix(phone.body, "Your rounds today: 1\n  Boiler house, 4 March 2026\n") || strings.Contains(phone.body, "PI-") {
		t.Errorf("%q", phone.body)
	}
	p.open()
	p.now = p.now.Add(10 * time.Hour)
	if got := p.step(); len(got) != 0 {
		t.Errorf("again on that day: %+v", got)
	}
	p.now = p.now.Add(14 * time.Hour)
	if got := p.step(); len(got["rev@plant.example"]) != 1 || len(got["tech@plant.example"]) != 0 {
		t.Errorf("the day after: %+v", got)
	}
}

// TestAServerThatDoesNotTakeIt checks that it is retried, and that one without TLS is sent nothing.
func TestAServerThatDoesNotTakeIt(t *testing.T) {
	p := newSite(t, newPost(t, true))
	p.step()
	p.post.refuse(true)
	p.failed("PSH-2", true)
	p.step()
	if s := p.mail.Now(); s.Waiting != 1 || !strings.Contains(s.Why, "try again later") {
		t.Errorf("%+v", s)
	}
	p.post.refuse(false)
	p.open()
	if got := p.step(); len(got) != 0 {
		t.Errorf("at once: %+v", got)
	}
	p.now = p.now.Add(time.Minute)
	if got := p.step(); len(got["rev@plant.example"]) != 1 {
		t.Errorf("a minute later: %+v", got)
	}
	open := newSite(t, newPost(t, false))
	open.step()
	open.failed("PSH-2", true)
	if got := open.step(); len(got) != 0 || open.post.logins != 0 || open.post.plain {
		t.Errorf("without TLS: %+v, %d log-ins", got, open.post.logins)
	}
	open.now = open.now.AddDate(0, 0, 3)
	open.step()
	events, err := open.store.Events(0, 1)
	if err != nil || events[0].Kind != "mail_given_up" || open.mail.Now().Waiting != 0 {
		t.Errorf("%+v %v", events, err)
	}
	if err := open.mail.Try(t.Context(), "rev"); !errors.Is(err, mail.ErrNotTaken) {
		t.Error(err)
	}
	if err := p.mail.Try(t.Context(), "rev"); err != nil {
		t.Error(err)
	}
	for _, wrong := range []mail.Person{
		{ID: "rev", Address: "no address"}, {ID: "rev", Address: "A <a@b.example>"}, {ID: "nobody", Address: "a@b.example"},
		{ID: "rev", Language: "xx"}, {ID: "rev", Address: "a@b.example\r\nBcc: c@d.example"},
	} {
		if err := p.mail.Set(wrong, noted("x")); err == nil {
			t.Errorf("%+v is kept", wrong)
		}
	}
}
