package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"gaugewright/sync/hub"
	"gaugewright/sync/store"
)

// site is an office or a hub that is killed and comes back under its address.
type site struct {
	data, address, token string
	more                 []string
	running              *running
	came                 []time.Duration // how long it took to come back
}

// newSite makes a site's folder and chooses its address. That is below the ports that a system
// gives to whoever connects, so that nobody else takes it while the site is down.
func newSite(t *testing.T, random *rand.Rand) *site {
	t.Helper()
	p := &site{data: filepath.Join(t.TempDir(), "data")}
	p.token = plantFolder(t, p.data)
	for range 100 {
		address := fmt.Sprintf("127.0.0.1:%d", 20_000+random.IntN(10_000))
		if socket, err := net.Listen("tcp", address); err == nil {
			p.address = "http://" + address
			p.more = []string{"--addr", address}
			if err := socket.Close(); err != nil {
				t.Fatal(err)
			}
			return p
		}
	}
	t.Fatal("no port is free")
	return nil
}

func (p *site) start(t *testing.T) {
	t.Helper()
	begun := time.Now()
	p.running = start(t, p.data, p.more...)
	p.came = append(p.came, time.Since(begun))
}

// ask sends a request with the site's log-in; reply takes the answer's JSON where it is not nil.
func (p *site) ask(client *http.Client, method, path string, body []byte, reply any) (status int, err error) {
	r, err := http.NewRequest(method, p.address+path, bytes.NewReader(body))
	if err != nil {
		return 0, err
	}
	r.Header.Set("Authorization", "Bearer "+p.token)
	r.Header.Set("Content-Type", "application/octet-stream")
	a, err := client.Do(r)
	if err != nil {
		return 0, err
	}
	b, err := io.ReadAll(a.Body)
	if err := errors.Join(err, a.Body.Close()); err != nil {
		return 0, err
	}
	if reply != nil {
		err = json.Unmarshal(b, reply)
	}
	return a.StatusCode, err
}

func (p *site) size(t *testing.T, client *http.Client) uint64 {
	t.Helper()
	var tree struct{ Head store.Head }
	if status, err := p.ask(client, http.MethodGet, "/api/tree", nil, &tree); err != nil || status != http.StatusOK {
		t.Fatal(status, err)
	}
	return tree.Head.Size
}

// held reads what a site has once it was killed: its changes by id, and its records.
func (p *site) held(t *testing.T) (changes, records map[string]string) {
	t.Helper()
	if report, err := store.Check(p.data); err != nil || len(report.Damage) > 0 {
		t.Errorf("%s: %v, %q", p.address, err, report.Damage)
	}
	s, err := store.Open(p.data)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	entries, _, err := s.Piece(0, store.Bounds{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	changes, records = map[string]string{}, map[string]string{}
	for _, e := range entries {
		if _, twice := changes[e.Change.ID]; twice {
			t.Errorf("%s has change %s twice", p.address, e.Change.ID)
		}
		changes[e.Change.ID] = string(e.Change.Bytes())
		records[e.Change.Record] = ""
	}
	for id := range records {
		state, _, err := s.Record(id)
		if err != nil {
			t.Fatal(err)
		}
		records[id] = string(state.Bytes())
	}
	if n, _, err := s.HeldSize(); err != nil || n > 0 {
		t.Errorf("%s has put %d aside, %v", p.address, n, err)
	}
	if slices.Contains(p.more, "--upstream") {
		if q, err := hub.New(s, nil, nil).Queue(); err != nil || q != (hub.Queue{}) {
			t.Errorf("at the hub: %+v, %v", q, err)
		}
	}
	return changes, records
}

// roaming is a phone that works at the hub and at the office by turns, as the line is. What one did
// not answer goes to the other. Some of its photos go with it.
type roaming struct {
	sender
	photos map[string]bool // acknowledged, by name
}

func (r *roaming) work(client *http.Client, sites []*site) error {
	r.more()
	at := sites[r.random.IntN(len(sites))]
	r.token = at.token
	if err := r.push(client, at.address); err != nil {
		return err
	}
	if r.random.IntN(8) > 0 {
		return nil
	}
	photo := make([]byte, 1+r.random.IntN(100_000))
	for i := range photo {
		photo[i] = byte(r.random.Uint32())
	}
	sum := sha256.Sum256(photo)
	name := hex.EncodeToString(sum[:])
	status, err := at.ask(client, http.MethodPut, "/api/blobs/"+name, photo, nil)
	if err != nil {
		return nil // killed
	}
	if status != http.StatusNoContent {
		return fmt.Errorf("a photo: %d", status)
	}
	r.photos[name] = true
	return nil
}

// TestHubAndOfficeKilledUnderLoad kills an office and its hub again and again, one of them or both,
// while phones send to either and the hub forwards. Whatever one of the two acknowledged must be at
// both afterwards, once and as it was; the two must hold the same, and what both are sent once more
// must write nothing.
func TestHubAndOfficeKilledUnderLoad(t *testing.T) {
	if _, err := built(); err != nil { // so that it is not taken for the first start
		t.Fatal(err)
	}
	moment := rand.New(rand.NewPCG(2, 7))
	client := &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 8}}
	office, north := newSite(t, moment), newSite(t, moment)
	north.more = append(north.more, "--upstream", office.address, "--upstream-name", "north")
	sites := []*site{office, north}
	var phones []*roaming
	for i := range 4 {
		random := rand.New(rand.NewPCG(uint64(i), 8))
		phones = append(phones, &roaming{
			sender{device: fmt.Sprintf("d%d", i), random: random, shared: true}, map[string]bool{},
		})
	}
	office.start(t)
	north.start(t)
	stop := make(chan struct{})
	var wait sync.WaitGroup
	end := sync.OnceFunc(func() { close(stop); wait.Wait() })
	t.Cleanup(end)
	for _, one := range phones {
		wait.Go(func() {
			for {
				select {
				case <-stop:
					return
				case <-time.After(time.Duration(one.random.IntN(20)) * time.Millisecond):
				}
				if err := one.work(client, sites); err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	begun, died := time.Now(), map[*site]int{}
	for n := 0; n < *kills; {
		time.Sleep(time.Duration(moment.IntN(300)) * time.Millisecond)
		victims := [][]*site{{office}, {north}, sites, {north, office}}[moment.IntN(4)]
		for _, p := range victims {
			p.running.kill(t)
			died[p]++
			n++
		}
		for _, p := range victims {
			p.start(t)
		}
	}
	took := time.Since(begun)
	end()
	// Both lines are back for good: the rest arrives, then what either has goes to the other.
	all, photos, resent := map[string]string{}, map[string]bool{}, 0
	for _, one := range phones {
		one.token = north.token
		if err := one.push(client, north.address); err != nil || len(one.waiting) > 0 {
			t.Fatal(err, len(one.waiting))
		}
		for i := range one.done {
			all[one.done[i].ID] = string(one.done[i].Bytes())
		}
		maps.Copy(photos, one.photos)
		resent += one.resent
	}
	agree(t, client, sites, len(all))
	for name := range photos {
		lacks := func() bool {
			status, err := office.ask(client, http.MethodHead, "/api/blobs/"+name, nil, nil)
			return err != nil || status != http.StatusOK
		}
		for deadline := time.Now().Add(time.Minute); lacks(); time.Sleep(20 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("photo %s is not at the office", name)
			}
		}
	}
	for _, p := range sites {
		for _, one := range phones {
			for again := range slices.Chunk(one.done, 500) {
				twice := &sender{device: one.device, token: p.token, waiting: slices.Clone(again)}
				if err := twice.push(client, p.address); err != nil || len(twice.waiting) > 0 {
					t.Fatal(err, len(twice.waiting))
				}
			}
		}
	}
	agree(t, client, sites, len(all))
	north.running.kill(t)
	office.running.kill(t)
	at, records := office.held(t)
	atHub, recordsThere := north.held(t)
	if !maps.Equal(at, all) || !maps.Equal(atHub, all) {
		t.Errorf("%d changes at the office, %d at the hub, %d acknowledged", len(at), len(atHub), len(all))
	}
	if !maps.Equal(records, recordsThere) {
		t.Errorf("the records of the two differ: %d and %d", len(records), len(recordsThere))
	}
	for name := range photos {
		b, err := os.ReadFile(filepath.Join(office.data, "blobs", name))
		if sum := sha256.Sum256(b); err != nil || hex.EncodeToString(sum[:]) != name {
			t.Errorf("photo %s at the office: %d bytes, %v", name, len(b), err)
		}
	}
	for _, p := range sites {
		slices.Sort(p.came)
	}
	t.Logf("%d kills of the office and %d of the hub in %v: %d changes acknowledged, %d sent more than once, "+
		"%d photos; back after %v and %v (median), %v and %v at most",
		died[office], died[north], took.Round(time.Millisecond), len(all), resent, len(photos),
		office.came[len(office.came)/2].Round(time.Millisecond), north.came[len(north.came)/2].Round(time.Millisecond),
		office.came[len(office.came)-1].Round(time.Millisecond), north.came[len(north.came)-1].Round(time.Millisecond))
	if len(all) < *kills || resent == 0 || len(photos) == 0 || died[office] == 0 || died[north] == 0 {
		t.Error("there was no load to kill them under")
	}
}

// equal waits until both sites have n changes.
func agree(t *testing.T, client *http.Client, sites []*site, n int) {
	t.Helper()
	for deadline := time.Now().Add(2 * time.Minute); ; time.Sleep(20 * time.Millisecond) {
		a, b := sites[0].size(t, client), sites[1].size(t, client)
		if int(a) == n && int(b) == n {
			return
		}
		if time.Now().After(deadline) || int(a) > n || int(b) > n {
			t.Fatalf("%d changes at the office, %d at the hub, %d acknowledged", a, b, n)
		}
	}
}
