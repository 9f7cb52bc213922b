package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/server/verify"
	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// proven is a plant with one visit that was signed, returned, signed again, approved, reopened,
// corrected and approved again, all with keys.
func proven(t *testing.T) (p *testPlant, certificate string, visit string) {
	t.Helper()
	p = newPlant(t)
	certificate, visit = p.prove()
	return p, certificate, visit
}

// prove makes that visit.
func (p *testPlant) prove() (certificate, visit string) {
	t := p.t
	t.Helper()
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	f, k := p.keyed(1)
	b, own := p.reviewing(2)
	f.drafter.Random = rand.NewChaCha8([32]byte{6})
	state := f.wholeVisit("PI-1")
	visit = state.ID
	path := "/api/office/visits/" + visit
	approve := func() string {
		t.Helper()
		a := p.do("reviewer", "POST", path+"/approve", b.approves(own, visit))
		var in struct{ Certificate office.Issued }
		if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 || in.Certificate.ID == "" {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return in.Certificate.ID
	}
	if why := f.signs(k, state); why[0] != "" {
		t.Fatal(why)
	}
	if a := p.do("reviewer", "POST", path+"/return", `{"remark":"say what you saw"}`); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	f.edit(f.state(visit), set("remark.r1", doc{"text": "the valve <was> stiff & \u2028 old"}))
	if why := f.signs(k, state); why[0] != "" {
		t.Fatal(why)
	}
	approve()
	p.reopen("reviewer", visit, "a slip")
	f.edit(f.state(visit), set("remark.r2", doc{"text": "it was the other one"}))
	if why := f.signs(k, state); why[0] != "" {
		t.Fatal(why)
	}
	return approve(), visit
}

func (p *testPlant) file(path string) []byte {
	p.t.Helper()
	a := p.do("technician", "GET", path, "")
	if a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return a.body
}

// closed ends the plant's program and returns its folder.
func (p *testPlant) closed() string {
	p.t.Helper()
	if err := p.store.Close(); err != nil {
		p.t.Fatal(err)
	}
	return p.store.Dir()
}

func ringOf(t *testing.T, b []byte) *office.Ring {
	t.Helper()
	r, err := verify.ReadRing(b)
	if err != nil {
		t.Fatal(err)
	}
	return &r
}

// broken fails the test unless err reports a named fault.
func broken(t *testing.T, what, want string, err error) {
	t.Helper()
	if !errors.Is(err, verify.ErrNot) || !strings.Contains(err.Error(), want) {
		t.Errorf("%s: %v, want %q", what, err, want)
	}
}

// TestARecordStandsByItself checks that the record of a certificate and its document verify with
// the public keys alone, and that any changed bit is found.
func TestARecordStandsByItself(t *testing.T) {
	p, certificate, _ := proven(t)
	ring := ringOf(t, p.file("/api/keys"))
	record, document := p.file("/api/certificates/"+certificate+".json"), p.file("/api/certificates/"+certificate+".pdf")
	r, err := verify.Record(record, document, ring)
	if err != nil {
		t.Fatal(err)
	}
	// Signed three times, approved twice by person and office, returned and reopened by the office,
	// two certificates.
	if r.Statements[plant.MarkGood] != 11 || r.Statements[plant.MarkNone] != 1 || r.Findings != 1 ||
		r.Certificates != 2 || r.Keys[plant.MarkGood] != 3 {
		t.Errorf("%+v", r)
	}
	if r, err = verify.Record(record, nil, nil); err != nil || len(r.Notes) == 0 {
		t.Errorf("without keys: %+v %v", r, err)
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 400 {
		i, bit := rnd.IntN(len(record)), byte(1)<<rnd.IntN(8)
		record[i] ^= bit
		if _, err := verify.Record(record, document, ring); !errors.Is(err, verify.ErrNot) {
			t.Errorf(
				"bit %d of byte %d of the record, in %q: %v", bit, i, record[max(0, i-20):min(len(record), i+20)], err,
			)
		}
		record[i] ^= bit
		i = rnd.IntN(len(document))
		document[i] ^= bit
		if _, err := verify.Record(record, document, ring); !errors.Is(err, verify.ErrNot) {
			t.Errorf("bit %d of byte %d of the document: %v", bit, i, err)
		}
		document[i] ^= bit
		if t.Failed() {
			return
		}
	}
	other := newPlant(t)
	_, err = verify.Record(record, document, ringOf(t, other.file("/api/keys")))
	broken(t, "with another office's keys", "another key", err)
}

// TestWhatIsLeftOutOfARecord checks that a record with a missing or repeated entry does not verify.
func TestWhatIsLeftOutOfARecord(t *testing.T) {
	p, certificate, _ := proven(t)
	ring := ringOf(t, p.file("/api/keys"))
	var whole office.Evidence
	if err := json.Unmarshal(p.file("/api/certificates/"+certificate+".json"), &whole); err != nil {
		t.Fatal(err)
	}
	last := map[string]string{} // the last change of each field of each record
	parsed := make([]change.Change, len(whole.Entries))
	for i, e := range whole.Entries {
		c, err := change.Parse([]byte(e.Change))
		if err != nil {
			t.Fatal(err)
		}
		parsed[i] = c
		last[c.Kind+named(&c)] = c.ID
	}
	needed := 0
	for i, c := range parsed {
		less := whole
		less.Entries = append(append([]office.EvidenceEntry{}, whole.Entries[:i]...), whole.Entries[i+1:]...)
		b, err := json.Marshal(less)
		if err != nil {
			t.Fatal(err)
		}
		r, err := verify.Record(b, nil, ring)
		word, _, _ := strings.Cut(named(&c), ".")
		switch {
		case err != nil:
			needed++
		case word == "vouched": // then a key shows as not confirmed
			if r.Keys[plant.MarkUnconfirmed] != 1 {
				t.Errorf("without entry %d: %+v", i, r)
			}
		case word == "returned" || word == "reopened": // nothing else depends on it
		case last[c.Kind+named(&c)] == c.ID:
			t.Errorf("the %s may be missing", named(&c))
		}
	}
	if needed < 12 {
		t.Errorf("only %d of %d entries are needed", needed, len(parsed))
	}
	twice := whole
	twice.Entries = append(twice.Entries, whole.Entries[0])
	b, err := json.Marshal(twice)
	if err != nil {
		t.Fatal(err)
	}
	_, err = verify.Record(b, nil, ring)
	broken(t, "twice the same", "not in the journal", err)
}

// named is the field that a change is about.
func named(c *change.Change) string {
	if slices.ContainsFunc(c.Set, func(x change.Setting) bool { return x.Field == "signature" }) {
		return "signature"
	}
	return c.Set[0].Field
}

// TestEveryEntryOfAFolder checks that a changed bit in any entry of the journal or in any head is
// found.
func TestEveryEntryOfAFolder(t *testing.T) {
	p, _, _ := proven(t)
	ring := ringOf(t, p.file("/api/keys"))
	dir := p.closed()
	r, err := verify.Folder(dir, ring)
	if err != nil || r.Statements[plant.MarkGood] != 11 || r.Findings != 1 {
		t.Fatalf("%+v %v", r, err)
	}
	path := filepath.Join(dir, store.File)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rnd := rand.New(rand.NewPCG(3, 4))
	n := 0
	for _, bucket := range []string{"journal", "heads"} {
		for at := 0; ; at++ {
			there := false
			db, err := bbolt.Open(path, 0o600, &bbolt.Options{NoSync: true})
			if err != nil {
				t.Fatal(err)
			}
			err = db.Update(func(tx *bbolt.Tx) error {
				b := tx.Bucket([]byte(bucket))
				c := b.Cursor()
				k, v := c.First()
				for range at {
					k, v = c.Next()
				}
				if k == nil {
					return nil
				}
				there = true
				v = bytes.Clone(v)
				v[rnd.IntN(len(v))] ^= 1 << rnd.IntN(8)
				return b.Put(bytes.Clone(k), v)
			})
			if err := errors.Join(err, db.Close()); err != nil {
				t.Fatal(err)
			}
			if !there {
				break
			}
			n++
			if _, err := verify.Folder(dir, ring); !errors.Is(err, verify.ErrNot) {
				t.Errorf("entry %d of %s: %v", at+1, bucket, err)
			}
			if err := os.WriteFile(path, whole, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	if n < 30 {
		t.Errorf("only %d entries and heads", n)
	}
}

// TestAForgedJournal: whoever has the whole folder can write another journal with valid hashes and
// heads. But it does not fit what people signed, nor a head that was kept elsewhere.
func TestAForgedJournal(t *testing.T) {
	p, _, visit := proven(t)
	ring := ringOf(t, p.file("/api/keys"))
	runs, err := plant.Runs(p.store, visit)
	if err != nil {
		t.Fatal(err)
	}
	list, _, err := p.store.Since(0, 10_000, nil)
	if err != nil {
		t.Fatal(err)
	}
	p.closed()
	again := func(alter func(c *change.Change) bool) string {
		t.Helper()
		dir := t.TempDir()
		s, err := store.Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range list {
			c := e.Change
			c.Set = append([]change.Setting{}, c.Set...)
			if !alter(&c) {
				continue
			}
			if r, err := s.Add(context.Background(), []change.Change{c}); err != nil || len(r.Refused) > 0 {
				t.Fatal(r.Refused, err)
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		return dir
	}
	same := again(func(*change.Change) bool { return true })
	if _, err := verify.Folder(same, nil); err != nil {
		t.Errorf("the same again: %v", err)
	}
	_, err = verify.Folder(same, ring)
	broken(t, "the same with other heads", "not signed by the key", err)
	replace := func(field, from, to string) func(c *change.Change) bool {
		return func(c *change.Change) bool {
			for i := range c.Set {
				if c.Set[i].Field == field {
					c.Set[i].Value = bytes.ReplaceAll(c.Set[i].Value, []byte(from), []byte(to))
				}
			}
			return true
		}
	}
	without := func(field string) func(c *change.Change) bool {
		return func(c *change.Change) bool { return c.Set[0].Field != field }
	}
	for what, x := range map[string]struct {
		alter func(c *change.Change) bool
		want  string
	}{
		"a reading":     {replace("capture."+runs[0].Captures[0].ID, `"value":"`, `"value":"1`), "something else"},
		"a serial":      {replace("item", "S-PI-1", "S-PI-2"), "something else"},
		"a limit":       {replace("item", `"class":"1.6"`, `"class":"4"`), "something else"},
		"the standard":  {replace("standard", "master 1", "master 2"), "something else"},
		"a remark":      {replace("remark.r1", "stiff", "loose"), "something else"},
		"a finding":     {replace("finding", `"verdict":"pass"`, `"verdict":"fail"`), "something else"},
		"a remark gone": {without("remark.r1"), "are not here"},
		"who signed":    {replace("signature", `"name":"T"`, `"name":"U"`), "signature by a key"},
		"an approval":   {replace("approval", `"certificate":"`, `"certificate":"0`), "signature by a key"},
		"why sent back": {
			func(c *change.Change) bool { return swap(c, "returned.", "say what", "say that") },
			"signature by a key",
		},
		"a number":       {replace("number", "-0000", "-0100"), "office's signature"},
		"a person's key": {replace("public", `"made":"2026-03`, `"made":"2026-02`), "signature by a key"},
	} {
		t.Run(what, func(t *testing.T) {
			_, err := verify.Folder(again(x.alter), nil)
			if what == "a person's key" {
				broken(t, what, "not signed by itself", err)
				return
			}
			broken(t, what, x.want, err)
		})
	}
}

func swap(c *change.Change, prefix, from, to string) bool {
	for i := range c.Set {
		if strings.HasPrefix(c.Set[i].Field, prefix) {
			c.Set[i].Value = bytes.ReplaceAll(c.Set[i].Value, []byte(from), []byte(to))
		}
	}
	return true
}

// TestALaterJournalBeginsAsItWas checks that keys kept with a head still verify while the office
// works on, also with another key of the office.
func TestALaterJournalBeginsAsItWas(t *testing.T) {
	p, _, _ := proven(t)
	ring := ringOf(t, p.file("/api/keys"))
	if _, err := office.NewKey(p.store, p.now); err != nil {
		t.Fatal(err)
	}
	p.handler = p.open()
	f := p.phone()
	f.drafter.Random, f.drafter.Count = rand.NewChaCha8([32]byte{12}), 1000
	f.approve(f.wholeVisit("PI-2").ID)
	dir := p.closed()
	r, err := verify.Folder(dir, ring)
	if err != nil || r.Keys[plant.MarkGood] != 4 {
		t.Errorf("%+v %v", r, err)
	}
	var backup bytes.Buffer
	s, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(s.Backup(&backup, false), s.Close()); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "b.tar.gz")
	if err := os.WriteFile(path, backup.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := verify.Backup(path, ring); err != nil {
		t.Errorf("its backup: %v", err)
	}
	b := backup.Bytes()
	b[len(b)/2] ^= 4
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = verify.Backup(path, ring)
	broken(t, "a bit of the backup", "", err)
	kept := *ring
	kept.Head = &store.Head{}
	*kept.Head = *ring.Head
	kept.Head.Size++
	_, err = verify.Folder(dir, &kept)
	broken(t, "a head that was altered", "kept with the keys", err)
	kept = *ring
	kept.Keys = nil
	for _, k := range ring.Keys {
		if k.Of == "person" {
			continue
		}
		k.Public.X = strings.Repeat("A", 43)
		kept.Keys = append(kept.Keys, k)
	}
	_, err = verify.Folder(dir, &kept)
	broken(t, "other keys of the office", "none of them vouches", err)
}
