//go:build unix

// Package pgtest starts a PostgreSQL server for a test, in a folder of its own, and stops it. It
// imports package testing, so that only tests may import it.
package pgtest

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"
)

// Server is a running server. It listens only on a socket in its folder.
type Server struct {
	t        testing.TB
	dir      string
	programs string
	settings []string
	owner    *syscall.Credential // nil for the user who runs the test
	cmd      *exec.Cmd
	plants   atomic.Int64
}

// Start starts a server. If PostgreSQL is not installed, the test is skipped; .ci/must-run names
// the tests that a whole run must have passed. Settings are those of the server, as NAME=VALUE.
func Start(t testing.TB, settings ...string) *Server {
	t.Helper()
	programs := found()
	if programs == "" {
		t.Skip("without PostgreSQL's server programs")
	}
	// A socket's path may have some 100 letters, and a test's folder can be longer.
	dir, err := os.MkdirTemp("", "pg")
	if err != nil {
		t.Fatal(err)
	}
	s := &Server{t: t, dir: dir, programs: programs, settings: settings}
	t.Cleanup(func() {
		s.Kill()
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	if os.Getuid() == 0 { // the server refuses to run as root
		s.owner = owner(t)
		if err := os.Chown(dir, int(s.owner.Uid), int(s.owner.Gid)); err != nil {
			t.Fatal(err)
		}
	}
	make := s.command("initdb", "-D", s.data(), "-A", "trust", "-U", "gauges", "-E", "UTF8", "--locale=C", "-N")
	if said, err := make.CombinedOutput(); err != nil {
		t.Fatalf("initdb: %v\n%s", err, said)
	}
	s.Run()
	return s
}

// found returns the folder of the server's programs.
func found() string {
	if path, err := exec.LookPath("postgres"); err == nil {
		return filepath.Dir(path)
	}
	list, _ := filepath.Glob("/usr/lib/postgresql/*/bin/postgres") // on Debian
	if len(list) == 0 {
		return ""
	}
	return filepath.Dir(slices.Max(list))
}

func owner(t testing.TB) *syscall.Credential {
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err := strconv.ParseUint(u.Uid, 10, 32)
		if err != nil {
			t.Fatal(err)
		}
		gid, err := strconv.ParseUint(u.Gid, 10, 32)
		if err != nil {
			t.Fatal(err)
		}
		return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	}
	t.Fatal("there is no user to run PostgreSQL as")
	return nil
}

func (s *Server) data() string { return filepath.Join(s.dir, "data") }

func (s *Server) command(program string, args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(s.programs, program), args...)
	cmd.Dir = s.dir
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Credential: s.owner}
	return cmd
}

// Run starts the server again after Kill and waits until it accepts connections.
func (s *Server) Run() {
	s.t.Helper()
	s.Begin()
	for range 600 {
		if line, err := net.Dial("unix", filepath.Join(s.dir, ".s.PGSQL.5432")); err == nil {
			_ = line.Close()
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	said, _ := os.ReadFile(filepath.Join(s.dir, "log"))
	s.t.Fatalf("PostgreSQL does not begin:\n%s", said)
}

// Begin starts the server and does not wait for it.
func (s *Server) Begin() {
	s.t.Helper()
	log, err := os.OpenFile(filepath.Join(s.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		s.t.Fatal(err)
	}
	args := []string{
		"-D", s.data(), "-c", "listen_addresses=", "-c", "unix_socket_directories=" + s.dir,
		"-c", "max_connections=200", "-c", "shared_buffers=32MB",
	}
	for _, one := range s.settings {
		args = append(args, "-c", one)
	}
	s.cmd = s.command("postgres", args...)
	s.cmd.Stdout, s.cmd.Stderr = log, log
	if err := s.cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	if err := log.Close(); err != nil {
		s.t.Fatal(err)
	}
}

// Kill kills the server and all its helpers at once, as a crash would.
func (s *Server) Kill() {
	if s.cmd == nil {
		return
	}
	_ = syscall.Kill(-s.cmd.Process.Pid, syscall.SIGKILL) // it may have ended already
	_ = s.cmd.Wait()                                      // killed by the signal
	s.cmd = nil
	// The helpers have process groups of their own. One that is at work outlives the server for a
	// moment, and a new server refuses to begin beside it.
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		left := s.helpers()
		for _, pid := range left {
			_ = syscall.Kill(pid, syscall.SIGKILL)
		}
		if len(left) == 0 || time.Now().After(end) {
			break
		}
	}
	_ = os.Remove(filepath.Join(s.data(), "postmaster.pid"))
}

// helpers returns the processes that work in the server's folder, where the system lists them.
func (s *Server) helpers() (list []int) {
	links, _ := filepath.Glob("/proc/[0-9]*/cwd")
	for _, link := range links {
		if to, err := os.Readlink(link); err != nil || to != s.data() {
			continue
		}
		if pid, err := strconv.Atoi(filepath.Base(filepath.Dir(link))); err == nil {
			list = append(list, pid)
		}
	}
	return list
}

// Plant returns the address of a plant that does not exist yet.
func (s *Server) Plant() string { return s.Address(fmt.Sprintf("p%d", s.plants.Add(1))) }

// Address returns the address of a plant.
func (s *Server) Address(plant string) string {
	return "postgres://gauges@/postgres?plant=" + plant + "&sslmode=disable&host=" +
		strings.ReplaceAll(s.dir, "/", "%2F")
}
