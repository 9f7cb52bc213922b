package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"time"
)

// ticks are the clock ticks of a second in /proc. Linux has had 100 on all usual machines.
const ticks = 100

// spent returns the time of the processors that the program has used.
func (s *served) spent() (time.Duration, error) {
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", s.command.Process.Pid))
	if err != nil {
		return 0, err
	}
	_, rest, _ := strings.Cut(string(b), ") ")
	f := strings.Fields(rest)
	if len(f) < 13 {
		return 0, errors.New("the program's line in /proc has another form")
	}
	user, err := strconv.ParseInt(f[11], 10, 64)
	if err != nil {
		return 0, err
	}
	system, err := strconv.ParseInt(f[12], 10, 64)
	return time.Duration(user+system) * time.Second / ticks, err
}

// calm waits until the program does nothing of its own accord, and returns how long that took and the
// most memory that it had meanwhile.
func (s *served) calm(ctx context.Context) (took time.Duration, most int64, err error) {
	began := time.Now()
	before, err := s.spent()
	for quiet := 0; err == nil && quiet < 3; {
		select {
		case <-ctx.Done():
			return 0, 0, ctx.Err()
		case <-time.After(time.Second):
		}
		now, failed := s.spent()
		own, _, failed2 := s.memory()
		err = errors.Join(failed, failed2)
		if most = max(most, own); now-before < 50*time.Millisecond {
			quiet++
		} else {
			quiet = 0
		}
		before = now
	}
	return max(time.Since(began)-3*time.Second, 0), most, err
}

// first waits while the office reads a folder for the first time, and returns how long that took and the
// most memory that it had meanwhile.
func (m *measuring) first(ctx context.Context) (took time.Duration, most int64, err error) {
	began := time.Now()
	for {
		_, err := m.get(pages[0].path)
		own, _, failed := m.served.memory()
		if most = max(most, own); err == nil || failed != nil || !strings.Contains(err.Error(), `"code":"reading"`) {
			return time.Since(began), most, errors.Join(err, failed)
		}
		fmt.Fprintln(os.Stderr, m.dir, err)
		select {
		case <-ctx.Done():
			return 0, 0, ctx.Err()
		case <-time.After(time.Second):
		}
	}
}
