package main

import (
	"context"
	"fmt"
	"io/fs"
	"net/http"
	"sync"
	"time"
)

// fetchWait is how long a person at a hub waits for a photo that only the office has.
const fetchWait = 20 * time.Second

// fetcher gets blobs from the office that somebody at the hub asks for. It has a line of its own,
// so that nobody waits for an exchange.
type fetcher struct {
	mu   sync.Mutex // one at a time: the line to the office is narrow
	line *officeLine
}

// Blob fetches a blob. The error is fs.ErrNotExist if the office does not have it either.
func (f *fetcher) Blob(ctx context.Context, name string) ([]byte, error) {
	ctx, cancel := context.WithTimeout(ctx, fetchWait)
	defer cancel()
	f.mu.Lock()
	defer f.mu.Unlock()
	b, status, _, err := f.line.try(ctx, http.MethodGet, "api/blobs/"+name, nil, nil)
	switch {
	case err != nil:
		return nil, err
	case status == http.StatusNotFound:
		return nil, fmt.Errorf("the office has no blob %s: %w", name, fs.ErrNotExist)
	case status != http.StatusOK:
		return nil, fmt.Errorf("GET of a blob: the office answers %d", status)
	}
	return b, nil
}
