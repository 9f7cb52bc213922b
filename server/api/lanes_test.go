package api_test

import (
	"bytes"
	"fmt"
	"sync"
	"testing"
	"time"
)

// lanes asks as one device with two requests under way, and reports whether it was taken for two.
func (p *testPlant) lanes(lane int, last, nonce, more string) (twin bool) {
	p.t.Helper()
	a := p.do("technician", "POST", "/api/sync", fmt.Sprintf(
		`{"store":"","cursor":0,"nonce":%q,"last":%q,"lane":%d,"device":"d1","protocol":3,"changes":[]%s}`,
		nonce, last, lane, more,
	))
	if a.status != 200 {
		p.t.Fatalf("%s: %d %s", nonce, a.status, a.body)
	}
	return bytes.Contains(a.body, []byte(`"twin":true`))
}

// TestTwoRequestsAreOneDevice checks that two requests under way count as one device, even if the
// replies to one or both lanes are lost. A copy is found whichever lane it continues.
func TestTwoRequestsAreOneDevice(t *testing.T) {
	p := newPlant(t)
	for _, step := range []struct {
		what        string
		lane        int
		last, nonce string
		twin        bool
	}{
		{"the first", 0, "", "a1", false},
		{"one more beside the next", 0, "a1", "a2", false},
		{"in a lane of its own", 1, "", "b1", false},
		{"both were taken", 0, "a2", "a3", false},
		{"both lanes go on", 1, "b1", "b2", false},
		{"the reply in the first lane is lost", 0, "a2", "a4", false},
		{"that in the second is taken", 1, "b2", "b3", false},
		{"the reply in the second is lost", 1, "b2", "b4", false},
		{"both again", 0, "a4", "a5", false},
		{"and the second", 1, "b4", "b5", false},
		{"a copy goes on in the second lane", 1, "b2", "c1", false},
		{"this one goes on", 1, "b5", "b6", false},
		{"the copy took a reply of its own", 1, "c1", "c2", true},
		{"the first lane is left in peace", 0, "a5", "a6", false},
		{"and the second", 1, "b6", "b7", false},
		{"a copy in the first lane", 0, "a4", "c3", false},
		{"took a reply of its own", 0, "c3", "c4", true},
	} {
		if got := p.lanes(step.lane, step.last, step.nonce, ""); got != step.twin {
			t.Errorf("%s: twin %v", step.what, got)
		}
	}
	if a := p.do("technician", "POST", "/api/sync", `{"nonce":"n","device":"d1","changes":[],"lane":2}`); a.status != 400 {
		t.Errorf("a third lane: %d %s", a.status, a.body)
	}
}

// TestTheSecondPieceWaits checks that of two pieces under way the second is accepted after the
// first, in whichever order they arrive. If the first is refused, nothing of the second is kept.
func TestTheSecondPieceWaits(t *testing.T) {
	p := newPlant(t)
	body := func(nonce, after, ident string, seq uint64) string {
		one := with("dp", "technician", ident, seq)
		return fmt.Sprintf(`{"nonce":%q,"after":%q,"device":"dp","protocol":3,"changes":[%s]}`, nonce, after, one.Bytes())
	}
	var all sync.WaitGroup
	all.Go(func() {
		if a := p.do("technician", "POST", "/api/sync", body("n2", "n1", "r2", 2)); a.status != 200 {
			t.Errorf("the second: %d %s", a.status, a.body)
		}
	})
	time.Sleep(20 * time.Millisecond) // the second arrives first
	if last, err := p.store.Last(); err != nil || last != 0 {
		t.Errorf("%d taken before the first, %v", last, err)
	}
	if a := p.do("technician", "POST", "/api/sync", body("n1", "", "r1", 1)); a.status != 200 {
		t.Errorf("the first: %d %s", a.status, a.body)
	}
	all.Wait()
	entries, _, err := p.store.Since(0, 10, nil)
	if err != nil || len(entries) != 2 || entries[0].Change.Seq != 1 || entries[1].Change.Seq != 2 {
		t.Errorf("%v %v", entries, err)
	}
	a := p.do("technician", "POST", "/api/sync", body("n9", "never", "r3", 3))
	if a.status != 409 || !bytes.Contains(a.body, []byte(`"early"`)) {
		t.Errorf("without the first: %d %s", a.status, a.body)
	}
	if last, err := p.store.Last(); err != nil || last != 2 {
		t.Errorf("%d kept, %v", last, err)
	}
}
