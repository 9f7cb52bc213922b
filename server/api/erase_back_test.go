package api_test

import (
	"bytes"
	"context"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/server/verify"
	"gaugewright/sync/hub"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// linePlant is a hub's line to a plant's office.
type linePlant struct {
	p *testPlant
	// alters changes a request on its way.
	alters func(q *link.Request)
}

func (l *linePlant) Exchange(_ context.Context, body []byte) ([]byte, error) {
	if l.alters != nil {
		q, err := link.ReadRequest(body)
		if err != nil {
			return nil, err
		}
		l.alters(&q)
		body = q.Bytes()
	}
	a := l.p.do("hub", "POST", "/api/sync", string(body))
	if a.status != 200 {
		return nil, errors.New(string(a.body))
	}
	return a.body, nil
}

func (l *linePlant) Arrived(context.Context, string) (int64, bool, error) { return 0, true, nil }

func (l *linePlant) PutPiece(context.Context, string, int64, int64, []byte) (int64, bool, error) {
	return 0, true, nil
}

// TestDecisionsComeBackBesideErased: names and remarks of a visit were erased after a hub was given
// it, and the office loses all of it. The hub brings back approval, certificate and what is left of
// the visit: nothing is refused, nothing of what was erased comes back, and the record is proven as
// before, by the public keys alone. What the hub makes of what is left is not believed.
func TestDecisionsComeBackBesideErased(t *testing.T) {
	p := newPlant(t)
	p.another("hub", auth.Hub)
	dir := t.TempDir()
	hubs, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := hubs.Close(); err != nil {
			t.Error(err)
		}
	}()
	line := &linePlant{p: p}
	h := hub.New(hubs, line, rand.NewChaCha8([32]byte{9}))
	sync := func() {
		t.Helper()
		if err := h.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	sync()
	var backup strings.Builder
	if err := p.store.Backup(&backup, false); err != nil {
		t.Fatal(err)
	}
	certificate, visit := p.prove()
	document := p.file("/api/certificates/" + certificate + ".pdf")
	sync()
	for _, field := range []string{"remark.r1", "signature"} {
		a := p.do(
			"administrator", "POST", "/api/office/visits/"+visit+"/erase",
			`{"fields":["`+field+`"],"reason":"asked for"}`,
		)
		if a.status != 204 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		sync()
	}
	want, _, err := p.store.Record(visit)
	if err != nil {
		t.Fatal(err)
	}
	marks := p.marks(visit)
	f := &phone{testPlant: p}
	if r, err := verify.Record(
		p.file("/api/certificates/"+certificate+".json"), document, ringOf(t, p.file("/api/keys")),
	); err != nil || r.Certificates != 2 {
		t.Errorf("before: %+v %v", r, err)
	}

	var hubCopy bytes.Buffer
	if err := hubs.Backup(&hubCopy, false); err != nil {
		t.Fatal(err)
	}
	g := f.restored(backup.String())
	g.logIn("hub")
	line.p = g.testPlant
	if _, there, err := g.store.Record(visit); err != nil || there {
		t.Fatal(there, err)
	}
	sync()
	got, _, err := g.store.Record(visit)
	if err != nil || !bytes.Equal(got.Bytes(), want.Bytes()) {
		t.Errorf("%v\n%s\nwant\n%s", err, got.Bytes(), want.Bytes())
	}
	refused, err := h.Refused()
	if err != nil || len(refused) > 0 {
		t.Errorf("refused: %+v %v", refused, err)
	}
	if list := g.asides(""); len(list.Quarantined) != 0 {
		t.Errorf("set aside: %+v", list)
	}
	if v, err := plant.LoadVisit(g.store, visit); err != nil || v.Status != plant.Approved {
		t.Errorf("%v %v", v.Status, err)
	}
	if now := g.marks(visit); now.Keys != marks.Keys || !slices.Equal(now.Attention, marks.Attention) {
		t.Errorf("%+v, before %+v", now, marks)
	}
	logos, err := os.ReadDir(filepath.Join(p.store.Dir(), "blobs")) // which a hub keeps where somebody asked for them
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range logos {
		b, err := p.store.Blob(e.Name())
		if err == nil {
			err = g.store.PutBlob(e.Name(), b)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if again := g.file("/api/certificates/" + certificate + ".pdf"); !bytes.Equal(again, document) {
		t.Error("the certificate changed")
	}
	ring := ringOf(t, g.file("/api/keys"))
	record := g.file("/api/certificates/" + certificate + ".json")
	if bytes.Contains(record, []byte("the valve")) {
		t.Error("what was erased came back")
	}
	if r, err := verify.Record(record, document, ring); err != nil || r.Certificates != 2 {
		t.Errorf("%+v %v", r, err)
	}
	folder := t.TempDir()
	var whole bytes.Buffer
	if err := g.store.Backup(&whole, false); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Restore(folder+"/copy", &whole); err != nil {
		t.Fatal(err)
	}
	if r, err := store.Check(folder + "/copy"); err != nil || len(r.Damage) > 0 {
		t.Fatal(r, err)
	}
	if r, err := verify.Folder(folder+"/copy", ring); err != nil || r.Statements[plant.MarkGood] < 12 {
		t.Fatalf("%+v %v", r, err)
	}

	// A hub that says something else of what is left.
	other := filepath.Join(t.TempDir(), "hub")
	if _, err := store.Restore(other, &hubCopy); err != nil {
		t.Fatal(err)
	}
	others, err := store.Open(other)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := others.Close(); err != nil {
			t.Error(err)
		}
	}()
	h = hub.New(others, line, rand.NewChaCha8([32]byte{9}))
	altered := 0
	forger := f.restored(backup.String())
	forger.logIn("hub")
	line.p = forger.testPlant
	left := []byte(`"at":"2026`)
	line.alters = func(q *link.Request) {
		for i := range q.Back {
			for k := range q.Back[i].Changes {
				if c := &q.Back[i].Changes[k]; q.Back[i].IsLeft(c.ID) {
					c.Bytes, altered = bytes.ReplaceAll(c.Bytes, left, []byte(`"at":"2036`)), altered+1
				}
			}
		}
		q.Changes = nil
	}
	for range 8 {
		if _, err := h.Once(t.Context()); err != nil && !errors.Is(err, link.ErrReply) {
			t.Fatal(err)
		}
	}
	entries, err := forger.store.History(visit)
	if err != nil || len(entries) == 0 || altered == 0 {
		t.Fatal(entries, altered, err)
	}
	for _, e := range entries {
		if bytes.Contains(e.Change.Bytes(), []byte(`"at":"2036`)) {
			t.Errorf("taken: %s", e.Change.Bytes())
		}
	}
}
