package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// served is a program that serves a folder.
type served struct {
	program, dir, address string
	command               *exec.Cmd
	started               time.Duration
}

// serve starts the program and waits for its first answer.
func serve(ctx context.Context, program, dir string) (*served, error) {
	s := &served{program: program, dir: dir}
	s.command = exec.CommandContext(ctx, program, "serve", "--data", dir, "--addr", "127.0.0.1:0")
	s.command.Stderr = os.Stderr
	out, err := s.command.StdoutPipe()
	if err != nil {
		return nil, err
	}
	began := time.Now()
	if err := s.command.Start(); err != nil {
		return nil, err
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if a, ok := strings.CutPrefix(lines.Text(), "serving "); ok {
			s.address = a
		}
		if lines.Text() == "ready" {
			break
		}
	}
	go func() { _, _ = io.Copy(io.Discard, out) }()
	r, err := http.Get(s.address + "/health/ready")
	if err != nil {
		return nil, err
	}
	if s.started = time.Since(began); r.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("it is not ready: %s", r.Status)
	}
	return s, r.Body.Close()
}

// end ends the program in the normal way.
func (s *served) end() error {
	if err := s.command.Process.Signal(syscall.SIGTERM); err != nil {
		return err
	}
	return s.command.Wait()
}

// again ends the program and starts it once more.
func (s *served) again(ctx context.Context) (*served, error) {
	if err := s.end(); err != nil {
		return s, err
	}
	return serve(ctx, s.program, s.dir)
}

// memory reads the program's own memory, and the memory with the pages of files that it has mapped.
func (s *served) memory() (own, all int64, err error) {
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.command.Process.Pid))
	if err != nil {
		return 0, 0, err
	}
	for line := range strings.Lines(string(b)) {
		name, rest, _ := strings.Cut(line, ":")
		n, _ := strconv.ParseInt(strings.TrimSuffix(strings.TrimSpace(rest), " kB"), 10, 64)
		switch name {
		case "RssAnon":
			own = n << 10
		case "VmRSS":
			all = n << 10
		}
	}
	return own, all, nil
}

// client sends requests as a logged-in person.
type client struct {
	http                   http.Client
	address, token, user   string
	device, name, password string
	sequence               uint64
}

func (s *served) logIn(name, password string) (*client, error) {
	c := &client{address: s.address, name: name, password: password}
	var err error
	if c.device, err = change.NewID(rand.Reader); err != nil {
		return nil, err
	}
	return c, c.enter()
}

func (c *client) enter() error {
	in, err := json.Marshal(map[string]string{"name": c.name, "password": c.password})
	if err != nil {
		return err
	}
	b, err := c.ask("POST", "/api/login", in)
	if err != nil {
		return err
	}
	var out struct {
		Access string
		User   struct{ ID string }
	}
	err = json.Unmarshal(b, &out)
	c.token, c.user = out.Access, out.User.ID
	return err
}

func (c *client) open(method, path string, body []byte) (*http.Response, error) {
	r, err := http.NewRequest(method, c.address+path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	r.Header.Set("Content-Type", "application/json")
	if c.token != "" && path != "/api/login" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	reply, err := c.http.Do(r)
	if err == nil && reply.StatusCode == http.StatusUnauthorized && path != "/api/login" { // the token has expired
		if err := reply.Body.Close(); err != nil {
			return nil, err
		}
		if err := c.enter(); err != nil {
			return nil, err
		}
		return c.open(method, path, body)
	}
	return reply, err
}

func (c *client) ask(method, path string, body []byte) ([]byte, error) {
	reply, err := c.open(method, path, body)
	if err != nil {
		return nil, err
	}
	b, err := io.ReadAll(reply.Body)
	if err != nil {
		return nil, err
	}
	if err := reply.Body.Close(); err != nil {
		return nil, err
	}
	if reply.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("%s %s: %s: %.300s", method, path, reply.Status, b)
	}
	return b, nil
}

// get fetches a page and returns how long it took.
func (c *client) get(path string) (time.Duration, error) {
	began := time.Now()
	_, err := c.ask("GET", path, nil)
	return time.Since(began), err
}

func (c *client) read(path string, into any) error {
	reply, err := c.open("GET", path, nil)
	if err != nil {
		return err
	}
	defer reply.Body.Close()
	return json.NewDecoder(reply.Body).Decode(into)
}

// system makes a token for another system, and gives the client that has it.
func (c *client) system() (*client, error) {
	in, err := json.Marshal(map[string]any{
		"name": "measured", "until": time.Now().AddDate(0, 1, 0).Format(time.DateOnly), "scopes": []string{
			"read:instruments", "read:due", "read:visits", "read:certificates", "read:standards",
		},
	})
	if err != nil {
		return nil, err
	}
	reply, err := c.open("POST", "/api/machines/tokens", in)
	if err != nil {
		return nil, err
	}
	defer reply.Body.Close()
	var out struct{ Secret string }
	if err := json.NewDecoder(reply.Body).Decode(&out); err != nil || reply.StatusCode != http.StatusCreated {
		return nil, fmt.Errorf("no token was made: %s, %v", reply.Status, err)
	}
	return &client{address: c.address, http: c.http, token: out.Secret}, nil
}

// backup takes a backup and counts its bytes.
func (c *client) backup() (int64, error) {
	reply, err := c.open("POST", "/api/backup", nil)
	if err != nil {
		return 0, err
	}
	defer reply.Body.Close()
	if reply.StatusCode != http.StatusOK {
		return 0, fmt.Errorf("backup: %s", reply.Status)
	}
	return io.Copy(io.Discard, reply.Body)
}

// push sends visits of 1.5 kB one after the other, with a pause between them, until it is stopped.
func (c *client) push(ctx context.Context, n int, rest time.Duration, stop <-chan struct{}) (list []time.Duration, err error) {
	note := strings.Repeat("read at rest, ", 100)
	for range n {
		select {
		case <-stop:
			return list, nil
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(rest):
		}
		c.sequence++
		one := change.Change{
			Device: c.device, Seq: c.sequence, Author: c.user, Wall: "2026-09-14T05:06:07.089Z",
			Stamp: clock.Next(c.sequence, 0, c.device), Kind: "visit",
			Set: []change.Setting{{Field: "remark.r", Value: fmt.Appendf(nil, `{"text":%q}`, note)}},
		}
		for _, id := range []*string{&one.ID, &one.Record} {
			if *id, err = change.NewID(rand.Reader); err != nil {
				return nil, err
			}
		}
		body := fmt.Appendf(nil, `{"store":"","epoch":"","root":"","cursor":0,"scope":"","nonce":"n%d","device":%q,"limit":1,"changes":[%s]}`,
			c.sequence, c.device, one.Bytes())
		began := time.Now()
		b, err := c.ask("POST", "/api/sync", body)
		if err != nil {
			return nil, err
		}
		list = append(list, time.Since(began))
		if bytes.Contains(b, []byte(`"reason"`)) {
			return nil, fmt.Errorf("a push was refused: %.300s", b)
		}
	}
	return list, nil
}
