//go:build unix

package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/objects/objectstest"
	"gaugewright/sync/postgres"
	"gaugewright/sync/postgres/pgtest"
	"gaugewright/sync/store"
)

var killsElsewhere = flag.Int("kills-elsewhere", 6, "how often servers and their database are killed under load")

// openedAt opens a plant in a database.
func openedAt(t *testing.T, address, folder string) *store.Store {
	t.Helper()
	db, err := postgres.Open(context.Background(), address, postgres.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := store.OpenOn(db, folder, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestKilledElsewhere moves a plant into a database, serves it with two programs, and kills these
// and the database again and again while phones send to both. Whatever was acknowledged is there
// afterwards, once, and the plant is moved back with the same tree.
func TestKilledElsewhere(t *testing.T) {
	pg := pgtest.Start(t)
	data := filepath.Join(t.TempDir(), "data")
	token := plantFolder(t, data)
	address := pg.Plant()
	var said bytes.Buffer
	if err := move([]string{data, address}, nil, &said, &said); err != nil || !strings.Contains(said.String(), "no damage") {
		t.Fatal(err, said.String())
	}
	if err := move([]string{address, data}, nil, &said, &said); err != nil {
		t.Fatal(err, said.String())
	}
	if err := move([]string{data, address}, nil, &said, &said); !errors.Is(err, store.ErrNotEmpty) {
		t.Errorf("a plant is moved onto another one: %v", err)
	}
	// Without its own timeout a sender would wait as long as the servers retry.
	client := &http.Client{Timeout: 40 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 8}}
	var senders []*sender
	for i := range 4 {
		senders = append(
			senders, &sender{device: fmt.Sprintf("d%d", i), token: token, random: rand.New(rand.NewPCG(uint64(i), 7))},
		)
	}
	moment := rand.New(rand.NewPCG(1, 7))
	var mu sync.Mutex
	servers := []*running{start(t, data, "--store", address), start(t, data, "--store", address)}
	defer func() {
		for _, one := range servers {
			one.kill(t)
		}
	}()
	stop := make(chan struct{})
	var wait sync.WaitGroup
	for i, one := range senders {
		wait.Go(func() {
			for n := i; ; n++ {
				select {
				case <-stop:
					return
				default:
				}
				one.more()
				mu.Lock()
				to := servers[n%2].address
				mu.Unlock()
				// A write that the database could not take is a server error, and is sent again.
				if err := one.push(client, to); err != nil && !strings.HasPrefix(err.Error(), "500 ") {
					t.Error(err)
					return
				}
			}
		})
	}
	for n := range *killsElsewhere {
		time.Sleep(time.Duration(200+moment.IntN(600)) * time.Millisecond)
		if n%2 == 0 {
			pg.Kill()
			pg.Run()
			continue
		}
		which := n / 2 % 2
		servers[which].kill(t)
		next := start(t, data, "--store", address)
		mu.Lock()
		servers[which] = next
		mu.Unlock()
	}
	time.Sleep(time.Second)
	close(stop)
	wait.Wait()
	all, resent := map[string]string{}, 0
	for _, one := range senders {
		if err := one.push(client, servers[0].address); err != nil || len(one.waiting) > 0 {
			t.Fatal(err, len(one.waiting))
		}
		twice := &sender{device: one.device, token: token, waiting: one.done[:min(len(one.done), 300)]}
		if err := twice.push(client, servers[1].address); err != nil || len(twice.waiting) > 0 {
			t.Fatal(err, len(twice.waiting))
		}
		for i := range one.done {
			all[one.done[i].ID] = string(one.done[i].Bytes())
		}
		resent += one.resent
	}
	s := openedAt(t, address, data)
	defer s.Close()
	lost, extra := len(all), 0
	list, _, err := s.Piece(0, store.Bounds{}, func(c *change.Change) (bool, error) {
		if all[c.ID] == string(c.Bytes()) {
			lost--
		} else {
			extra++
		}
		return false, nil
	})
	report, checked := s.CheckIt()
	if err := errors.Join(err, checked); err != nil || len(report.Damage) > 0 || len(list) > 0 {
		t.Fatal(err, report.Damage)
	}
	t.Logf("%d kills: %d changes acknowledged, %d sent more than once, %d lost, %d altered or not sent",
		*killsElsewhere, len(all), resent, lost, extra)
	if lost != 0 || extra != 0 || report.Changes != len(all) {
		t.Errorf("%d in the journal, %d acknowledged", report.Changes, len(all))
	}
	if len(all) < 10*len(senders) || resent == 0 {
		t.Errorf("there was no load to kill it under: %d changes, %d sent again", len(all), resent)
	}
}

// TestPhotosGoIntoABucketAndBack moves a plant with a photo into a database and a bucket and back.
func TestPhotosGoIntoABucketAndBack(t *testing.T) {
	pg := pgtest.Start(t)
	bucket := objectstest.Start(t)
	data := filepath.Join(t.TempDir(), "data")
	plantFolder(t, data)
	photo := []byte("a photo of a gauge")
	sum := sha256.Sum256(photo)
	name := hex.EncodeToString(sum[:])
	s, err := store.Open(data)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(s.PutBlob(name, photo), s.Close()); err != nil {
		t.Fatal(err)
	}
	address := pg.Plant()
	var said bytes.Buffer
	run := func(command func([]string, io.Reader, io.Writer, io.Writer) error, args ...string) {
		t.Helper()
		said.Reset()
		if err := command(args, nil, &said, &said); err != nil || !strings.Contains(said.String(), "1 blobs") {
			t.Fatal(err, said.String())
		}
	}
	bucket.Refuse(http.MethodPut)
	if err := move([]string{"--blobs", bucket.Address, data, address}, nil, &said, &said); err == nil {
		t.Error("moved, while the bucket took nothing")
	}
	bucket.Refuse("")
	run(check, "--data", data) // the folder is as it was
	run(move, "--blobs", bucket.Address, data, address)
	if err := os.RemoveAll(filepath.Join(data, "blobs")); err != nil {
		t.Fatal(err)
	}
	run(check, "--data", data, "--store", address, "--blobs", bucket.Address)
	o, err := optionsWith(bucket.Address)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := o.Blobs.Get(name); err != nil || !bytes.Equal(got, photo) {
		t.Errorf("in the bucket: %q, %v", got, err)
	}
	run(move, "--blobs", bucket.Address, address, data)
	run(check, "--data", data)
	for _, args := range [][]string{{"--data", data, "--blobs", bucket.Address}, {"--data", data, "--store", address, "--blobs", "s3://nobody"}} {
		if err := check(args, nil, &said, &said); err == nil || !strings.Contains(err.Error(), "--blobs") {
			t.Errorf("%v: %v", args, err)
		}
	}
}

// TestCommandsOnADatabase: what a command does to a plant in a database, its servers and the other
// commands see, and a database without a plant gets none.
func TestCommandsOnADatabase(t *testing.T) {
	pg := pgtest.Start(t)
	data := filepath.Join(t.TempDir(), "data")
	plantFolder(t, data)
	address := pg.Plant()
	var said bytes.Buffer
	if err := move([]string{data, address}, nil, &said, &said); err != nil {
		t.Fatal(err, said.String())
	}
	at := []string{"--data", data, "--store", address}
	export := filepath.Join(t.TempDir(), "out")
	for _, step := range []struct {
		command func([]string, io.Reader, io.Writer, io.Writer) error
		args    []string
		in, out string
	}{
		{users, append([]string{"add", "--name", "dora", "--role", "technician"}, at...), "a long enough one", "dora\ttechnician"},
		{users, append([]string{"list"}, at...), "", "dora"},
		{tokens, append([]string{"make", "--name", "ledger", "--scopes", "read:due", "--until", time.Now().AddDate(0, 1, 0).Format(time.DateOnly)}, at...), "", "ledger"},
		{tokens, append([]string{"list"}, at...), "", "ledger"},
		{keys, append([]string{"--new"}, at...), "", "the office signs with the key"},
		{exportPlant, append(slices.Clone(at), export), "", "records"},
		{backup, append([]string{"--out", filepath.Join(t.TempDir(), "copy")}, at...), "", ""},
		{check, at, "", "no damage"},
	} {
		said.Reset()
		if err := step.command(step.args, strings.NewReader(step.in), &said, &said); err != nil || !strings.Contains(said.String(), step.out) {
			t.Errorf("%v: %v, said %q, want %q", step.args, err, said.String(), step.out)
		}
	}
	s := openedAt(t, address, data)
	defer s.Close()
	k, err := auth.New(s, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if id, err := k.IDOf("dora"); err != nil || id == "" {
		t.Errorf("a server does not know the account: %v", err)
	}
	for args, why := range map[string]string{
		"list --data " + data + " --store " + pg.Plant():        "no whole plant",
		"list --data " + data + " --blobs s3://store.example/b": "goes with --store",
		"list --store " + address:                               "--data names no folder",
	} {
		if err := users(strings.Fields(args), nil, &said, &said); err == nil || !strings.Contains(err.Error(), why) {
			t.Errorf("%s: %v, want %q", args, err, why)
		}
	}
}
