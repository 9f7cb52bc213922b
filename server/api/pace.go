package api

import (
	"errors"
	"io"
	"net/http"
	"os"
	"sync"
	"time"

	"gaugewright/server/auth"

	"github.com/labstack/echo/v4"
)

const (
	// firstPatience is how long a body may take to begin, and a small one to arrive.
	firstPatience = 30 * time.Second
	// leastSpeed is the minimum in bytes a second for longer ones: slower than any line that phones
	// send on.
	leastSpeed = 256
)

// errSlow is returned for a body that arrives too slowly; its sender tries again.
var errSlow = errors.New("the body came too slowly")

// paced is a body with a minimum speed, so that nobody can hold connections open by trickling.
type paced struct {
	io.ReadCloser
	control *http.ResponseController
	now     func() time.Time
	begun   time.Time
	until   time.Time // the deadline for bodies that hold a turn; zero for none
	bytes   int64
}

// pacedBody gives every body a minimum speed.
func (s *server) pacedBody(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		r := c.Request()
		if r.Body == nil || r.Body == http.NoBody {
			return next(c)
		}
		// By the machine's clock, which the connection's deadlines use.
		p := &paced{
			ReadCloser: r.Body, control: http.NewResponseController(c.Response().Writer), now: time.Now,
			begun: time.Now(),
		}
		r.Body = p
		c.Set("paced", p)
		// Also for a body that no handler reads, since the server reads it before it answers.
		if err := p.control.SetReadDeadline(p.begun.Add(firstPatience)); err != nil {
			c.Logger().Debug(err) // a connection without deadlines
		}
		return next(c)
	}
}

func (p *paced) Read(b []byte) (int, error) {
	end := p.begun.Add(firstPatience + time.Duration(p.bytes/leastSpeed)*time.Second)
	if !p.until.IsZero() && p.until.Before(end) {
		end = p.until
	}
	unlimited := p.control.SetReadDeadline(end) != nil // a connection without deadlines
	n, err := p.ReadCloser.Read(b)
	p.bytes += int64(n)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return n, errSlow
	}
	if err != nil && !unlimited { // read to its end: the connection stays usable
		if e := p.control.SetReadDeadline(time.Time{}); e != nil && errors.Is(err, io.EOF) {
			return n, e
		}
	}
	return n, err
}

// allowance bounds the bytes of photos and loggers' records that an account may send in a day.
type allowance struct {
	mu    sync.Mutex
	day   string
	bytes map[string]int64
}

// mostBlobs is for one account and day: some thousand photos and a hundred long records of loggers.
// A hub sends those of many.
const mostBlobs = 2 << 30

// errAllowance is returned if an account sends more; the device keeps it and tries again.
var errAllowance = errors.New("this account has brought as many photos and records today as it may")

// take counts a user's bytes and refuses those beyond the bound.
func (a *allowance) take(u auth.User, bytes int64, now time.Time) error {
	if u.Role == auth.Hub {
		return nil
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if day := now.UTC().Format(time.DateOnly); day != a.day {
		a.day, a.bytes = day, map[string]int64{}
	}
	if a.bytes[u.ID]+bytes > mostBlobs {
		return errAllowance
	}
	a.bytes[u.ID] += bytes
	return nil
}

// allowed counts what a blob's request sends.
func (s *server) allowed(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		u, _ := c.Get("user").(auth.User)
		if err := s.blobs.take(u, max(c.Request().ContentLength, 0), s.Now()); err != nil {
			return err
		}
		return next(c)
	}
}
