//go:build planted

package world

import (
	"flag"
	"fmt"
	"os"
	"runtime/debug"
	"strings"
	"testing"

	"gaugewright/sync/clock"
	"gaugewright/sync/hub"
	"gaugewright/sync/link"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

var plantedFlag = flag.String("planted", "", "only errors whose name has this")

// TestPlantedErrorsAreFound builds in each planted error, in the real code or in the phone, and
// plays worlds until one finds it.
func TestPlantedErrorsAreFound(t *testing.T) {
	const most = 1000
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true)) // a damaged database may point anywhere
	errors := []struct {
		name  string
		plant func(string) // nil for an error of the phone
	}{
		{"the last writer wins", merge.Plant},
		{"the merge forgets what was replaced", merge.Plant},
		{"a choice sees the latest value only", merge.Plant},
		{"the clock follows the wall", clock.Plant},
		{"the store does not know what it has", store.Plant},
		{"the store merges the first record only", store.Plant},
		{"the tree takes one leaf at a time", store.Plant},
		{"a half-made database is taken", store.Plant},
		{"a full disk is not noticed", store.Plant},
		{"the changes after a kept state are forgotten", store.Plant},
		{"what could not be written is remembered", store.Plant},
		{"the cursor skips an entry at the bound of bytes", store.Plant},
		{"pages of the last moment are written on", store.Plant},
		{"the upgrade takes the first entry only", store.Plant},
		{"a blob is not hashed", store.Plant},
		{"a number that comes twice goes unnoticed", store.Plant},
		{"what was erased is not known again", store.Plant},
		{"what is left is as good as anything", store.Plant},
		{"what is refused is dropped", link.Plant},
		{"the cursor runs ahead", link.Plant},
		{"a restored office says nothing", link.Plant},
		{"what is given is not signed", link.Plant},
		{"the hub does not offer again", hub.Plant},
		{"the hub notes as sent before the answer", hub.Plant},
		{"silence is an acknowledgement", hub.Plant},
		{"record and outbox are written apart", nil},
		{"the outbox is emptied on sending", nil},
		{"the second piece goes with the first", nil},
		{"the cursor is written before the records", nil},
		{"any reply is taken", nil},
		{"the quota is not noticed", nil},
		{"photos are not offered again", nil},
		{"a phone sends what another person wrote", nil},
		{"a phone keeps what a restored office has lost", nil},
		{"what was given is not offered", nil},
		{"a phone keeps what was erased", nil},
	}
	root := quickFolder(t)
	for _, e := range errors {
		if !strings.Contains(e.name, *plantedFlag) {
			continue
		}
		if e.plant != nil {
			e.plant(e.name)
		}
		*eraseAndRestore = e.name == "what is left is as good as anything" // nothing else shows that
		found := uint64(0)
		why := ""
		for seed := uint64(1); seed <= most && found == 0; seed++ {
			dir, err := os.MkdirTemp(root, "w")
			if err != nil {
				t.Fatal(err)
			}
			if failures := playOn(seed, dir, e.name); len(failures) > 0 {
				found, why = seed, failures[0]
			}
			if err := os.RemoveAll(dir); err != nil {
				t.Fatal(err)
			}
		}
		if e.plant != nil {
			e.plant("")
		}
		if found == 0 {
			t.Errorf("%q: not found in %d worlds", e.name, most)
			continue
		}
		t.Logf("%q: seed %d: %s", e.name, found, why)
	}
}

// playOn plays a world with an error built in; one that ends the program counts as found.
func playOn(seed uint64, dir, planted string) (failures []string) {
	defer func() {
		if p := recover(); p != nil {
			failures = []string{fmt.Sprint("the program ends: ", p)}
		}
	}()
	return play(seed, *stepsFlag, dir, planted).failures
}
