package office

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"

	"gaugewright/server/plant"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// keyUses knows what each key signed last. It follows the journal and keeps what it knows: the first
// call reads all of it, and goes on where an earlier one stopped.
type keyUses struct {
	store *store.Store

	mu     sync.Mutex
	loaded bool
	kept   uint64 // the journal's entries of what was kept last
	cursor uint64
	of     map[string]keyUse // by thumbprint
}

type keyUse struct {
	Count int
	Last  string // when, by the signer's clock
}

// keptUses is what is kept.
type keptUses struct {
	Cursor uint64
	Of     map[string]keyUse
}

func (u *keyUses) keptIn() store.Private { return u.store.Private("key uses") }

func (u *keyUses) load() error {
	b, err := u.keptIn().Get("uses")
	if err != nil {
		return err
	}
	var was keptUses
	if b != nil {
		if err := json.Unmarshal(b, &was); err != nil {
			return fmt.Errorf("the list of the keys' uses is damaged: %w", err)
		}
	}
	last, err := u.store.Last()
	if err != nil {
		return err
	}
	if was.Cursor > last || was.Of == nil { // it is of another journal
		was = keptUses{Of: map[string]keyUse{}}
	}
	u.loaded, u.kept, u.cursor, u.of = true, was.Cursor, was.Cursor, was.Of
	return nil
}

func (u *keyUses) keep() error {
	b, err := json.Marshal(keptUses{u.cursor, u.of})
	if err != nil {
		return err
	}
	u.kept = u.cursor
	return u.keptIn().Put("uses", b)
}

// signing are the fields that people and the office sign, by the part of their name before a dot.
var signing = []string{
	"signature", "approval", "returned", "reopened", "erased", "vouched", "ended", "office",
}

func (u *keyUses) follow() error {
	if last, err := u.store.Last(); err != nil {
		return err
	} else if last > u.cursor+100*piece {
		defer u.store.ReadsAll()()
	}
	for {
		list, last, err := u.store.Since(u.cursor, piece, nil)
		if err != nil {
			return err
		}
		for i := range list {
			c := &list[i].Change
			for _, x := range c.Set {
				word, _, _ := strings.Cut(x.Field, ".")
				if !slices.Contains(signing, word) {
					continue
				}
				for _, member := range []string{statement.Proof, statement.Office} {
					kid, err := statement.KeyOf(statement.SignatureIn(x.Value, member))
					if err != nil {
						continue // not signed with a key
					}
					one := u.of[kid]
					u.of[kid] = keyUse{one.Count + 1, max(one.Last, c.Wall)}
				}
			}
		}
		u.cursor = last
		if len(list) == 0 {
			return nil
		}
		if u.cursor >= u.kept+10*piece {
			if err := u.keep(); err != nil {
				return err
			}
		}
	}
}

// uses returns what each key has signed last, up to now.
func (u *keyUses) uses() (map[string]keyUse, error) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if !u.loaded {
		if err := u.load(); err != nil {
			return nil, err
		}
	}
	if err := u.follow(); err != nil {
		return nil, err
	}
	of := make(map[string]keyUse, len(u.of))
	for kid, one := range u.of {
		of[kid] = one
	}
	return of, nil
}

// KeyState is the state of a key.
type KeyState string

// The states of a key. Replaced applies to office keys before the one in use.
const (
	KeyGood        KeyState = "good"        // in use, and confirmed as that person's
	KeyUnconfirmed KeyState = "unconfirmed" // in use, not yet confirmed as anyone's
	KeyWithdrawn   KeyState = "withdrawn"
	KeyLost        KeyState = "lost"
	KeyReplaced    KeyState = "replaced"
)

// KeyRow describes a key to people.
type KeyRow struct {
	ID     string   `json:"id"` // of its record
	Kid    string   `json:"kid"`
	Of     string   `json:"of"` // person or office
	Person string   `json:"person"`
	Name   string   `json:"name"`
	Device string   `json:"device"` // the id of the device that it was made on
	Alg    string   `json:"alg"`    // Ed25519 or P-256
	Made   string   `json:"made"`
	Used   string   `json:"used"` // when it last signed; "" for never
	Signed int      `json:"signed"`
	State  KeyState `json:"state"`
	Ended  string   `json:"ended"` // when; "" while it is in use
	Why    string   `json:"why"`
}

// KeyRows lists the keys on record: those of a person, or all for "". Those in use come first, then
// the newest.
func (o *Office) KeyRows(person string) ([]KeyRow, error) {
	states, err := o.store.ByKind("key", "", 0)
	if err != nil {
		return nil, err
	}
	names, err := o.Names()
	if err != nil {
		return nil, err
	}
	uses, err := o.uses.uses()
	if err != nil {
		return nil, err
	}
	rows := []KeyRow{}
	for i := range states {
		k, err := plant.ReadKey(states[i])
		if err != nil || person != "" && k.Person != person {
			continue
		}
		kid := k.Public.Thumbprint()
		one := KeyRow{
			ID: k.ID, Kid: kid, Of: k.Of, Person: k.Person, Name: names[k.Person],
			Alg: k.Public.Crv, Made: k.Made, Used: uses[kid].Last, Signed: uses[kid].Count,
		}
		if said, err := o.store.History(k.ID); err == nil && len(said) > 0 && k.Of == "person" {
			one.Device = said[0].Change.Device
		}
		if one.State, err = o.keyState(&k); err != nil {
			return nil, err
		}
		if k.Ended != nil {
			one.Ended, one.Why = k.Ended.At, k.Ended.Why
		}
		rows = append(rows, one)
	}
	slices.SortFunc(rows, func(a, b KeyRow) int {
		return cmp.Or(
			strings.Compare(b.Of, a.Of), strings.Compare(a.Name, b.Name),
			strings.Compare(a.Ended, b.Ended), strings.Compare(b.Made, a.Made),
			strings.Compare(a.ID, b.ID),
		)
	})
	return rows, nil
}

func (o *Office) keyState(k *plant.Key) (KeyState, error) {
	switch {
	case k.Ended == nil:
		mark, err := k.Mark(o.store)
		if err != nil || mark == plant.MarkGood {
			return KeyGood, err
		}
		return KeyUnconfirmed, nil
	case k.Of == "office":
		return KeyReplaced, nil
	case k.Ended.Lost:
		return KeyLost, nil
	}
	return KeyWithdrawn, nil
}
