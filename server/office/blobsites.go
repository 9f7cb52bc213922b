package office

import (
	"encoding/json"
	"fmt"
	"slices"
	"sync"

	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// BlobSites knows the sites of the records that name a blob: a photo, a logger's record, a
// certificate. It follows the journal and keeps what it knows. It reads nothing until a user who
// may see some sites only asks.
type BlobSites struct {
	store  *store.Store
	mu     sync.Mutex
	loaded bool
	cursor uint64
	of     map[string][]string // by blob; "" for no site
}

// NewBlobSites returns the BlobSites of a store.
func NewBlobSites(s *store.Store) *BlobSites { return &BlobSites{store: s, of: map[string][]string{}} }

func (b *BlobSites) load() error {
	err := b.store.Private("blob sites").Each(func(name string, v []byte) error {
		if name == keyCursor {
			return json.Unmarshal(v, &b.cursor)
		}
		var sites []string
		if err := json.Unmarshal(v, &sites); err != nil {
			return err
		}
		b.of[name] = sites
		return nil
	})
	if err != nil {
		return fmt.Errorf("the list of whose blobs are where is damaged: %w", err)
	}
	b.loaded = true
	return nil
}

// follow reads the journal up to its end; mu must be held.
func (b *BlobSites) follow() error {
	if !b.loaded {
		if err := b.load(); err != nil {
			return err
		}
	}
	from, put := b.cursor, map[string][]byte{}
	if last, err := b.store.Last(); err != nil {
		return err
	} else if last > from+100*piece {
		defer b.store.ReadsAll()()
	}
	for {
		list, last, err := b.store.Since(b.cursor, piece, nil)
		if err != nil {
			return err
		}
		if len(list) == 0 {
			break
		}
		for i := range list {
			for _, name := range blobsIn(&list[i].Change) {
				if site := list[i].Change.Site; !slices.Contains(b.of[name], site) {
					b.of[name] = append(b.of[name], site)
					if put[name], err = json.Marshal(b.of[name]); err != nil {
						return err
					}
				}
			}
		}
		if b.cursor = last; b.cursor >= from+20*piece { // a start after a stop goes on from there
			if err := b.keep(put); err != nil {
				return err
			}
			from = b.cursor
		}
	}
	if b.cursor == from {
		return nil
	}
	return b.keep(put)
}

// keep writes what changed, and from where to go on.
func (b *BlobSites) keep(put map[string][]byte) error {
	at, err := json.Marshal(b.cursor)
	if err != nil {
		return err
	}
	put[keyCursor] = at
	if err := b.store.Private("blob sites").Batch(put, nil); err != nil {
		return err
	}
	clear(put)
	return nil
}

// blobsIn lists everything in the values of a change that has the form of a blob's name.
func blobsIn(c *change.Change) (names []string) {
	const length = 64 // SHA-256 in hexadecimal digits
	for _, set := range c.Set {
		v := set.Value
		for i := 0; i+length+2 <= len(v); i++ {
			if v[i] == '"' && v[i+length+1] == '"' && store.IsBlobName(string(v[i+1:i+length+1])) {
				names = append(names, string(v[i+1:i+length+1]))
				i += length + 1
			}
		}
	}
	return names
}

// Given reports whether a user may have a blob: it must belong to a record that they receive.
func (b *BlobSites) Given(u auth.User, name string) (bool, error) {
	if !u.Limited() {
		return true, nil
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.follow(); err != nil {
		return false, err
	}
	return slices.ContainsFunc(
		b.of[name], func(site string) bool { return site == "" || slices.Contains(u.Sites, site) },
	), nil
}
