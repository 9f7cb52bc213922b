package api

import (
	"context"
	"runtime"
	"time"

	"gaugewright/server/auth"

	"github.com/labstack/echo/v4"
)

const (
	// largeBody is the size from which a body counts as large: decoding it takes many times its
	// bytes.
	largeBody = 1 << 20
	// largeCompressed is the same for gzip, which may grow maxExpansion times.
	largeCompressed = 64 << 10
	// mostLarge is how many large bodies are processed at once.
	mostLarge = 1
	// mostArriving is how many bytes of them, unpacked, arrive at once: two of the largest, or a
	// dozen of those that phones send.
	mostArriving = 64 << 20
	// longestArrival allows for a body of 16 MB over a bad line.
	longestArrival = 5 * time.Minute
	// longestTurn is how long a request waits for a turn.
	longestTurn = 30 * time.Second
)

// turns limits how many requests do at once what takes much memory.
type turns chan struct{}

// take waits for a turn. Refuses: auth.ErrBusy if none comes; the sender tries again.
func (t turns) take(ctx context.Context) (done func(), err error) {
	ctx, cancel := context.WithTimeout(ctx, longestTurn)
	defer cancel()
	select {
	case t <- struct{}{}:
		return func() { <-t }, nil
	case <-ctx.Done():
		return nil, auth.ErrBusy
	}
}

// arriving bounds how much of large bodies is read at once, and how long one may take.
func (s *server) arriving(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		r := c.Request()
		most, weight, longest := int64(largeBody), r.ContentLength, int64(maxReserved)
		if r.Header.Get("Content-Encoding") != "" {
			most, weight, longest = largeCompressed, maxExpansion*r.ContentLength, maxSync
		}
		if r.ContentLength >= 0 && r.ContentLength <= most {
			return next(c)
		}
		if weight < 0 || weight > longest { // no length given, or more than is allowed
			weight = longest
		}
		ctx, cancel := context.WithTimeout(r.Context(), longestTurn)
		defer cancel()
		if err := s.bodies.Acquire(ctx, weight); err != nil {
			return auth.ErrBusy
		}
		defer s.bodies.Release(weight)
		if p, ok := c.Get("paced").(*paced); ok {
			p.until = p.now().Add(longestArrival)
		}
		return next(c)
	}
}

// turn waits until a body may be processed; one that is not large does not wait. It collects the
// garbage of a large one before the next begins: otherwise two of them would be in memory.
func (s *server) turn(ctx context.Context, body []byte) (done func(), err error) {
	if len(body) <= largeBody {
		return func() {}, nil
	}
	free, err := s.large.take(ctx)
	if err != nil {
		return nil, err
	}
	return func() { runtime.GC(); free() }, nil
}
