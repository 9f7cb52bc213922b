package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/store"
)

var kills = flag.Int("kills", 20, "how often the serving program is killed under load")

// running is the real program in its own process.
type running struct {
	cmd     *exec.Cmd
	address string
	out     io.ReadCloser
}

// built makes the program once for all tests.
var built = sync.OnceValues(func() (string, error) {
	binary := filepath.Join(binaryFolder, "gaugewright")
	if out, err := exec.Command("go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return binary, nil
})

var binaryFolder string

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "gaugewright-test-*")
	if err != nil {
		panic(err)
	}
	binaryFolder = dir
	code := m.Run()
	if err := os.RemoveAll(dir); err != nil {
		panic(err)
	}
	os.Exit(code)
}

func start(t *testing.T, data string, more ...string) *running {
	t.Helper()
	binary, err := built()
	if err != nil {
		t.Fatal(err)
	}
	r := &running{
		cmd: exec.Command(binary, append([]string{"serve", "--data", data, "--addr", "127.0.0.1:0"}, more...)...),
	}
	r.cmd.Env = append(os.Environ(), "GAUGEWRIGHT_UPSTREAM_PASSWORD=")
	if slices.Contains(more, "--upstream") {
		r.cmd.Env = append(r.cmd.Env, "GAUGEWRIGHT_UPSTREAM_PASSWORD="+secret)
	}
	if r.out, err = r.cmd.StdoutPipe(); err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	r.cmd.Stderr = &said
	if err := r.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(r.out)
	for lines.Scan() {
		if _, address, ok := strings.Cut(lines.Text(), "serving "); ok {
			r.address = address
			return r
		}
	}
	r.kill(t)
	t.Fatalf("it does not start: %s", said.String())
	return nil
}

// kill kills the process without warning, as a power cut or the system does.
func (r *running) kill(t *testing.T) {
	t.Helper()
	if err := r.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	var exit *exec.ExitError
	if err := r.cmd.Wait(); err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
}

// sender is a phone: it numbers its changes, sends some at a time and again until they are
// acknowledged.
type sender struct {
	device  string
	token   string
	random  *rand.Rand
	shared  bool // some of its work is on records that others write on too
	next    uint64
	waiting []change.Change
	done    []change.Change // acknowledged
	resent  int
	replies []time.Duration
}

func (s *sender) more() {
	for len(s.waiting) < 1+s.random.IntN(20) {
		s.next++
		c := change.Change{ID: fmt.Sprintf("%sx%d", s.device, s.next), Device: s.device, Seq: s.next, Author: "an", Wall: "2026-03-04T05:06:07.089Z",
			Stamp: clock.Next(s.next, 0, s.device), Record: fmt.Sprintf("%sr%d", s.device, s.next%17), Kind: "visit",
			Set: []change.Setting{
				{
					Field: fmt.Sprintf("remark.f%d", s.next),
					Value: fmt.Appendf(nil, `{"text":%q}`, strings.Repeat("as read ", 100)),
				},
			}}
		if s.shared && s.next%5 == 0 {
			c.Record, c.Set[0].Field = fmt.Sprintf("shared%d", s.next/40), fmt.Sprintf("remark.f%d", s.next%3)
		}
		s.waiting = append(s.waiting, c)
	}
}

// push sends what waits, once. Without a reply, all of it goes on waiting.
func (s *sender) push(client *http.Client, address string) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, `{"store":"","cursor":0,"nonce":"n","device":%q,"limit":1,"changes":[`, s.device)
	for i := range s.waiting {
		if i > 0 {
			b.WriteByte(',')
		}
		b.Write(s.waiting[i].Bytes())
	}
	b.WriteString("]}")
	r, err := http.NewRequest(http.MethodPost, address+"/api/sync", &b)
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+s.token)
	begun := time.Now()
	a, err := client.Do(r)
	if err != nil {
		s.resent += len(s.waiting)
		return nil // the program was killed: send again later
	}
	body, err := io.ReadAll(a.Body)
	if err := errors.Join(err, a.Body.Close()); err != nil {
		s.resent += len(s.waiting)
		return nil
	}
	var reply struct {
		Acknowledged []string
		Quarantined  []any
	}
	if a.StatusCode != http.StatusOK || json.Unmarshal(body, &reply) != nil || len(reply.Quarantined) > 0 ||
		len(reply.Acknowledged) != len(s.waiting) {
		return fmt.Errorf("%d %s", a.StatusCode, body)
	}
	s.replies = append(s.replies, time.Since(begun))
	s.done, s.waiting = append(s.done, s.waiting...), nil
	return nil
}

// plantFolder makes a data folder with an administrator and a hub's account, and returns a token of
// the first.
func plantFolder(t *testing.T, data string) string {
	t.Helper()
	s, err := store.Open(data)
	if err != nil {
		t.Fatal(err)
	}
	keeper, err := auth.New(s, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	_, err = keeper.Add("an", "administrator", auth.Administrator, secret)
	_, hubErr := keeper.Add("hvb", "north", auth.Hub, secret)
	login, loginErr := keeper.Login("administrator", secret, "here")
	if err := errors.Join(err, hubErr, loginErr, s.Close()); err != nil {
		t.Fatal(err)
	}
	return login.Access
}

// TestServedHubForwards starts an office and a hub as programs of their own. What is pushed to the
// hub reaches the office, also what came while the office was down, and the hub's own restart loses
// none of its queue.
func TestServedHubForwards(t *testing.T) {
	officeData, hubData := filepath.Join(t.TempDir(), "office"), filepath.Join(t.TempDir(), "hub")
	officeToken, hubToken := plantFolder(t, officeData), plantFolder(t, hubData)
	client := &http.Client{Timeout: 10 * time.Second}
	office := start(t, officeData)
	up := []string{"--upstream", office.address, "--upstream-name", "north"}
	hub := start(t, hubData, up...)
	s := &sender{device: "d1", token: hubToken, random: rand.New(rand.NewPCG(1, 1))}
	push := func() {
		t.Helper()
		s.more()
		if err := s.push(client, hub.address); err != nil || len(s.waiting) > 0 {
			t.Fatal(err, len(s.waiting))
		}
	}
	push()
	arrived := func() int {
		r, err := http.NewRequest(http.MethodGet, office.address+"/api/tree", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Authorization", "Bearer "+officeToken)
		a, err := client.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		var tree struct{ Head store.Head }
		if err := json.NewDecoder(a.Body).Decode(&tree); err != nil {
			t.Fatal(err)
		}
		return int(tree.Head.Size)
	}
	wait := func() {
		t.Helper()
		for deadline := time.Now().Add(30 * time.Second); arrived() != len(s.done); time.Sleep(20 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("%d of %d have arrived", arrived(), len(s.done))
			}
		}
	}
	wait()
	office.kill(t)
	push()
	hub.kill(t)
	office = start(t, officeData)
	hub = start(t, hubData, "--upstream", office.address, "--upstream-name", "north")
	push()
	wait()
	hub.kill(t)
	office.kill(t)
	for _, data := range []string{officeData, hubData} {
		if r, err := store.Check(data); err != nil || len(r.Damage) > 0 || r.Changes != len(s.done) {
			t.Errorf("%+v, %v; %d written", r, err, len(s.done))
		}
	}
}

// TestKilledUnderLoad kills the real program again and again while phones send to it. Whatever it
// acknowledged must be there afterwards, once, and sending everything again must write nothing.
func TestKilledUnderLoad(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	token := plantFolder(t, data)
	client := &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 8}}
	var senders []*sender
	for i := range 4 {
		senders = append(
			senders,
			&sender{device: fmt.Sprintf("d%d", i), token: token, random: rand.New(rand.NewPCG(uint64(i), 7))},
		)
	}
	moment := rand.New(rand.NewPCG(1, 7))
	begun := time.Now()
	for range *kills {
		r := start(t, data)
		stop := make(chan struct{})
		var wait sync.WaitGroup
		for _, one := range senders {
			wait.Go(func() {
				for {
					select {
					case <-stop:
						return
					default:
					}
					one.more()
					if err := one.push(client, r.address); err != nil {
						t.Error(err)
						return
					}
				}
			})
		}
		time.Sleep(time.Duration(moment.IntN(300)) * time.Millisecond)
		r.kill(t)
		close(stop)
		wait.Wait()
	}
	took := time.Since(begun)
	// The line is back for good: the rest arrives, and then everything once more.
	r := start(t, data)
	all, resent, replies := map[string]string{}, 0, 0
	for _, one := range senders {
		if err := one.push(client, r.address); err != nil || len(one.waiting) > 0 {
			t.Fatal(err, len(one.waiting))
		}
		for i := range one.done {
			all[one.done[i].ID] = string(one.done[i].Bytes())
		}
		resent, replies = resent+one.resent, replies+len(one.replies)
	}
	for _, one := range senders {
		for again := one.done; len(again) > 0; again = again[min(len(again), 500):] {
			twice := &sender{device: one.device, token: one.token, waiting: again[:min(len(again), 500)]}
			if err := twice.push(client, r.address); err != nil || len(twice.waiting) > 0 {
				t.Fatal(err, len(twice.waiting))
			}
		}
	}
	r.kill(t)
	report, err := store.Check(data)
	if err != nil || len(report.Damage) > 0 {
		t.Fatalf("%v, %q", err, report.Damage)
	}
	s, err := store.Open(data)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	entries, _, err := s.Piece(0, store.Bounds{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	lost, doubled, altered := len(all), 0, 0
	found := map[string]bool{}
	for _, e := range entries {
		if found[e.Change.ID] {
			doubled++
			continue
		}
		found[e.Change.ID] = true
		if all[e.Change.ID] != string(e.Change.Bytes()) {
			altered++
			continue
		}
		lost--
	}
	t.Logf("%d kills in %v: %d changes acknowledged in %d replies, %d sent more than once, %d lost, %d doubled, %d altered",
		*kills, took.Round(time.Millisecond), len(all), replies, resent, lost, doubled, altered)
	if lost != 0 || doubled != 0 || altered != 0 || len(entries) != len(all) {
		t.Errorf("%d in the journal, %d acknowledged", len(entries), len(all))
	}
	if len(all) < *kills || resent == 0 {
		t.Errorf("there was no load to kill it under: %d changes, %d sent again", len(all), resent)
	}
}
