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

// BlobSites knows of which sites the records are that name a blob: a photo, a logger's record, a
// certificate. It follows the journal and keeps what it knows; nothing is read before somebody asks
// who is given the records of some sites only.
type BlobSites struct {
	store  *store.Store
	mu     sync.Mutex
	loaded bool
	cursor uint64
	of     map[string][]string // by blob; "" is of none
}

// NewBlobSites returns what is known of a store.
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

// follow brings what is known up to the journal's end; mu is held.
func (b *BlobSites) follow() error {
	if !b.loaded {
		if err := b.load(); err != nil {
			return err
		}
	}
	from, put := b.cursor, map[string][]byte{}
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
		b.cursor = last
	}
	if b.cursor == from {
		return nil
	}
	at, err := json.Marshal(b.cursor)
	if err != nil {
		return err
	}
	put[keyCursor] = at
	return b.store.Private("blob sites").Batch(put, nil)
}

// blobsIn lists what in the values of a change is written as a blob's name is.
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

// Given says whether somebody is given a blob: it belongs to a record that they are given.
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
