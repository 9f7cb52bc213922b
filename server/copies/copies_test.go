package copies_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"gaugewright/server/copies"
	"gaugewright/sync/store"

	"filippo.io/age"
)

func opened(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() }) // one test closes it
	return s
}

func names(t *testing.T, folder string) (list []string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		list = append(list, e.Name())
	}
	return list
}

var days = copies.Keep{Days: 2}

// TestACopyComesBack checks that restore accepts what was written, with its hash beside it, and
// that nothing else is left anywhere.
func TestACopyComesBack(t *testing.T) {
	s := opened(t)
	before := names(t, s.Dir())
	p := copies.Plan{Folder: filepath.Join(t.TempDir(), "copies"), Keep: days}
	at := time.Date(2027, 3, 4, 5, 6, 7, 0, time.UTC)
	c, err := p.Take(t.Context(), s, at)
	if err != nil || c.Name != "gaugewright-20270304T050607Z.backup" || !c.At.Equal(at) {
		t.Fatal(c, err)
	}
	b, err := os.ReadFile(filepath.Join(p.Folder, c.Name))
	if err != nil || int64(len(b)) != c.Size {
		t.Fatal(len(b), c.Size, err)
	}
	sum := sha256.Sum256(b)
	line, err := os.ReadFile(filepath.Join(p.Folder, c.Name+".sha256"))
	if err != nil || string(line) != hex.EncodeToString(sum[:])+"  "+c.Name+"\n" {
		t.Errorf("%q, %v", line, err)
	}
	r, err := store.Restore(filepath.Join(t.TempDir(), "back"), bytes.NewReader(b))
	if err != nil || len(r.Damage) > 0 || r.Store != s.StoreID() {
		t.Error(r, err)
	}
	if after := names(t, s.Dir()); !slices.Equal(after, before) {
		t.Errorf("the data folder has %v, before %v", after, before)
	}
	if got := names(t, p.Folder); len(got) != 2 {
		t.Error(got)
	}
	events, err := s.Events(0, 10)
	if err != nil || len(events) == 0 || events[0].Kind != "backup" || events[0].Detail != "scheduled" {
		t.Error(events, err)
	}
}

func TestASealedCopy(t *testing.T) {
	s := opened(t)
	who, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	p := copies.Plan{
		Folder: t.TempDir(), Keep: days,
		Seal: func(w io.Writer) (io.WriteCloser, error) { return age.Encrypt(w, who.Recipient()) },
	}
	c, err := p.Take(t.Context(), s, time.Now())
	if err != nil || !strings.HasSuffix(c.Name, ".backup.age") {
		t.Fatal(c, err)
	}
	f, err := os.Open(filepath.Join(p.Folder, c.Name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close() // opened for reading only
	plain, err := age.Decrypt(f, who)
	if err != nil {
		t.Fatal(err)
	}
	if r, err := store.Restore(filepath.Join(t.TempDir(), "back"), plain); err != nil || len(r.Damage) > 0 {
		t.Error(r, err)
	}
}

// TestWhatDoesNotComeBackIsNoCopy: a blob whose bytes do not match its name is damaged. The copy
// does not count, and the older one stays although it is past its time.
func TestWhatDoesNotComeBackIsNoCopy(t *testing.T) {
	s := opened(t)
	p := copies.Plan{Folder: t.TempDir(), Keep: copies.Keep{Days: 1}}
	first, err := p.Take(t.Context(), s, time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(s.Dir(), "blobs", strings.Repeat("a", 64)), []byte("other"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Take(t.Context(), s, time.Date(2027, 2, 1, 0, 0, 0, 0, time.UTC)); !errors.Is(err, copies.ErrUnread) {
		t.Error(err)
	}
	if got := names(t, p.Folder); !slices.Equal(got, []string{first.Name, first.Name + ".sha256"}) {
		t.Error(got)
	}
}

// TestOthersStay checks that only a folder's own backups are deleted.
func TestOthersStay(t *testing.T) {
	s := opened(t)
	p := copies.Plan{Folder: t.TempDir(), Keep: copies.Keep{Days: 1}}
	others := []string{"gaugewright-notes.backup", "gaugewright-20200101T000000Z.backup.txt", "holiday.jpg"}
	for _, name := range others {
		if err := os.WriteFile(filepath.Join(p.Folder, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for day := range 3 {
		if _, err := p.Take(t.Context(), s, time.Date(2027, 1, 1+day, 0, 0, 0, 0, time.UTC)); err != nil {
			t.Fatal(err)
		}
	}
	list, err := copies.List(p.Folder)
	if err != nil || len(list) != 1 || list[0].Name != "gaugewright-20270103T000000Z.backup" {
		t.Error(list, err)
	}
	for _, name := range others {
		if _, err := os.Stat(filepath.Join(p.Folder, name)); err != nil {
			t.Error(err)
		}
	}
	if got := names(t, p.Folder); len(got) != len(others)+2 {
		t.Error(got)
	}
}

// TestTheFreshOneStays checks that a file dated by a fast clock does not displace the fresh backup.
func TestTheFreshOneStays(t *testing.T) {
	s := opened(t)
	p := copies.Plan{Folder: t.TempDir(), Keep: copies.Keep{Days: 1}}
	if err := os.WriteFile(filepath.Join(p.Folder, "gaugewright-20300101T000000Z.backup"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := p.Take(t.Context(), s, time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(p.Folder, c.Name)); err != nil {
		t.Error(err)
	}
}

// TestKeep takes a backup a night for three years. What stays is counted by hand: 7 days, and those
// of the 5 weeks and 12 months that these days do not already cover.
func TestKeep(t *testing.T) {
	last := time.Date(2027, 6, 30, 2, 0, 0, 0, time.UTC) // a Wednesday
	var nights []time.Time
	for n := range 3 * 365 {
		nights = append(nights, last.AddDate(0, 0, -n))
	}
	k, err := copies.ReadKeep("days=7,weeks=5,months=12")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for i, stays := range copies.Stays(k, nights) {
		if stays {
			got = append(got, nights[i].Format("01-02"))
		}
	}
	want := "06-30 06-29 06-28 06-27 06-26 06-25 06-24 06-20 06-13 06-06 05-31 04-30 03-31 02-28 01-31 12-31 11-30 10-31 09-30 08-31 07-31"
	if s := strings.Join(got, " "); s != want {
		t.Errorf("stays\n%s, want\n%s", s, want)
	}
	for _, bad := range []string{"", "days", "days=x", "days=-1", "hours=3", "days=0,weeks=0"} {
		if _, err := copies.ReadKeep(bad); !errors.Is(err, copies.ErrKeep) {
			t.Errorf("%q: %v", bad, err)
		}
	}
	if back, err := copies.ReadKeep(k.String()); err != nil || back != k {
		t.Error(back, err)
	}
}

type watched struct {
	done, failed, newest int
}

func (o *watched) Backup(_ time.Time, _ int64, err error) {
	if err != nil {
		o.failed++
		return
	}
	o.done++
}
func (o *watched) Newest(time.Time, int64) { o.newest++ }

// TestOnTime plays two days: a backup at once, then one every six hours, none sooner after a
// restart, and a retry ten minutes after a failure.
func TestOnTime(t *testing.T) {
	data, folder := t.TempDir(), t.TempDir()
	quiet := slog.New(slog.DiscardHandler)
	synctest.Test(t, func(t *testing.T) {
		s, err := store.OpenWith(data, store.Options{NoSync: true})
		if err != nil {
			t.Fatal(err)
		}
		defer func() {
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		}()
		p := copies.Plan{Folder: folder, Every: 6 * time.Hour, Keep: copies.Keep{Days: 9}}
		var o watched
		run := func(long time.Duration) {
			ctx, end := context.WithTimeout(t.Context(), long)
			defer end()
			p.Run(ctx, s, quiet, &o)
		}
		run(48*time.Hour - time.Minute)
		if o.done != 8 || o.failed != 0 || o.newest != 0 {
			t.Errorf("after two days: %+v", o)
		}
		run(time.Hour)
		if o.done != 9 || o.newest != 1 {
			t.Errorf("after a new start: %+v", o)
		}
		p.Folder = filepath.Join(folder, "gaugewright-notes.backup", "below")
		if err := os.WriteFile(filepath.Join(folder, "gaugewright-notes.backup"), nil, 0o600); err != nil {
			t.Fatal(err)
		}
		run(35 * time.Minute)
		if o.failed != 4 {
			t.Errorf("tried again: %+v", o)
		}
	})
}

// ending is a context that ends after it was asked a number of times.
type ending struct {
	context.Context
	left int
}

func (e *ending) Err() error {
	if e.left--; e.left < 0 {
		return context.Canceled
	}
	return nil
}

// TestBrokenOffAnywhere checks that a backup whose context ends stops at any stage, reports it, and
// leaves nothing in either folder.
func TestBrokenOffAnywhere(t *testing.T) {
	s := opened(t)
	before := names(t, s.Dir())
	whole := &ending{t.Context(), 1 << 30}
	counting := copies.Plan{Folder: t.TempDir(), Keep: days}
	if _, err := counting.Take(whole, s, time.Now()); err != nil {
		t.Fatal(err)
	}
	asked := 1<<30 - whole.left
	if asked < 5 {
		t.Fatalf("the context was asked %d times", asked)
	}
	ctx, cancel := context.WithCancel(t.Context())
	sealing := copies.Plan{
		Folder: t.TempDir(), Keep: days,
		Seal: func(w io.Writer) (io.WriteCloser, error) {
			cancel()
			who, err := age.GenerateX25519Identity()
			if err != nil {
				return nil, err
			}
			return age.Encrypt(w, who.Recipient())
		},
	}
	if _, err := sealing.Take(ctx, s, time.Now()); !errors.Is(err, context.Canceled) {
		t.Errorf("while it is written: %v", err)
	}
	if got := names(t, sealing.Folder); len(got) > 0 {
		t.Errorf("while it is written: %v", got)
	}
	for n := range asked {
		p := copies.Plan{Folder: filepath.Join(t.TempDir(), "copies"), Keep: days}
		if _, err := p.Take(&ending{t.Context(), n}, s, time.Now()); !errors.Is(err, context.Canceled) ||
			errors.Is(err, copies.ErrUnread) {
			t.Fatalf("after %d of %d: %v", n, asked, err)
		}
		if got := names(t, p.Folder); len(got) > 0 {
			t.Fatalf("after %d: %v", n, got)
		}
		if after := names(t, s.Dir()); !slices.Equal(after, before) {
			t.Fatalf("after %d the data folder has %v", n, after)
		}
	}
}
