package export_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"gaugewright/server/export"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// TestErasedValuesAreNotTakenOut checks that an erased remark is in no file of an export, packed or
// not, and that everything else is. A plant made from it knows who erased what, and gives the same
// export.
func TestErasedValuesAreNotTakenOut(t *testing.T) {
	const words, kept = "Zebra Quimby rang from 555-0199", "the valve was stiff"
	s := plantOf(t)
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	if err != nil {
		t.Fatal(err)
	}
	id := ""
	for _, v := range visits {
		if v.Status == plant.Signed || v.Status == plant.Approved {
			id = v.ID
		}
	}
	state, ok, err := s.Record(id)
	if err != nil || !ok {
		t.Fatal("no visit", err)
	}
	count, err := plant.HighestCount(s)
	if err != nil {
		t.Fatal(err)
	}
	device, _ := change.NewID(strings.NewReader(strings.Repeat("d", 64)))
	drafter := &plant.Drafter{Device: device, Author: device, Count: count, Random: strings.NewReader(strings.Repeat("x", 640))}
	one, _, err := drafter.Edit(
		state, time.Now(), plant.Set{Field: "remark.gone", Value: map[string]string{"text": words}},
		plant.Set{Field: "remark.stays", Value: map[string]string{"text": kept}},
	)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Add(context.Background(), []change.Change{one}); err != nil {
		t.Fatal(err)
	}
	if !says(t, s, words) || !says(t, s, kept) {
		t.Fatal("the remarks are not taken out at all")
	}
	if err := officeOf(s).Erase(t.Context(), device, "visit", id, []string{"remark.gone"}, "asked for"); err != nil {
		t.Fatal(err)
	}
	first := taken(t, s, export.Wanted{})
	if contains(t, files(t, first), words) {
		t.Error("what was erased is taken out")
	}
	if !contains(t, files(t, first), kept) || !contains(t, files(t, first), "asked for") {
		t.Error("what was not erased, or why something was, is missing")
	}
	fresh := open(t, t.TempDir())
	if _, err := export.Bring(context.Background(), fresh, os.DirFS(first)); err != nil {
		t.Fatal(err)
	}
	same(t, files(t, taken(t, fresh, export.Wanted{})), files(t, first))
}

func says(t *testing.T, s *store.Store, words string) bool {
	t.Helper()
	return contains(t, files(t, taken(t, s, export.Wanted{})), words)
}

// contains searches files for words, including packed ones.
func contains(t *testing.T, list map[string]string, words string) bool {
	t.Helper()
	for _, b := range list {
		if strings.Contains(b, words) {
			return true
		}
		if r, err := gzip.NewReader(bytes.NewReader([]byte(b))); err == nil {
			if plain, err := io.ReadAll(r); err == nil && bytes.Contains(plain, []byte(words)) {
				return true
			}
		}
	}
	return false
}
