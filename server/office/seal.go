package office

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"gaugewright/server/certificates"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// seal signs what the office writes with its own keys, of which the last is in use. They are kept
// with the other secrets of the store.
type seal struct {
	keys  []sealKey
	known bool // all of them have their records
	off   bool // set at a hub, which forwards the office's decisions and signs nothing itself
}

type sealKey struct {
	Seed []byte `json:"seed"`
	Made string `json:"made"`
}

func (k sealKey) private() ed25519.PrivateKey { return ed25519.NewKeyFromSeed(k.Seed) }

func (k sealKey) public() statement.Key { return statement.PublicOf(k.private()) }

// sealName is the key of the keys among the secrets.
const sealName = "office"

func readSeal(s *store.Store) (keys []sealKey, err error) {
	b, err := s.Private("keys").Get(sealName)
	if err != nil || b == nil {
		return nil, err
	}
	if err := json.Unmarshal(b, &keys); err != nil ||
		slices.ContainsFunc(keys, func(k sealKey) bool { return len(k.Seed) != ed25519.SeedSize }) {
		return nil, fmt.Errorf("the office's keys are damaged: %w", errors.Join(plant.ErrValue, err))
	}
	return keys, nil
}

// NewKey gives the office of a store another key, which signs from its next decision on. The key
// before signs for the new one, so that whoever knows an earlier key can trust the later ones. with
// runs in the same transaction.
func NewKey(
	s *store.Store, now time.Time, with ...func(thumbprint string) store.Step,
) (statement.Key, error) {
	keys, err := readSeal(s)
	if err != nil {
		return statement.Key{}, err
	}
	next := sealKey{Seed: make([]byte, ed25519.SeedSize), Made: plant.Stamp(now)}
	if _, err := rand.Read(next.Seed); err != nil {
		return statement.Key{}, err
	}
	b, err := json.Marshal(append(keys, next))
	if err != nil {
		return statement.Key{}, err
	}
	var noted []store.Step
	for _, f := range with {
		noted = append(noted, f(next.public().Thumbprint()))
	}
	return next.public(), s.Private("keys").Put(sealName, b, noted...)
}

// sealed signs what a draft states in the office's name.
func (w *Writer) sealed(list []change.Change) error {
	if w.seal.off {
		return nil
	}
	private, err := w.private()
	if err != nil {
		return err
	}
	for i := range list {
		if err := sign(&list[i], private); err != nil {
			return err
		}
	}
	return nil
}

// private returns the office's key in use, and makes the first one; mu must be held.
func (w *Writer) private() (ed25519.PrivateKey, error) {
	if len(w.seal.keys) == 0 {
		keys, err := readSeal(w.store)
		if err != nil {
			return nil, err
		}
		if len(keys) == 0 {
			if _, err := NewKey(w.store, time.Now()); err != nil {
				return nil, err
			}
			if keys, err = readSeal(w.store); err != nil {
				return nil, err
			}
		}
		w.seal.keys = keys
	}
	return w.seal.keys[len(w.seal.keys)-1].private(), nil
}

// sealKeys returns the office's keys, at least one; none at a hub.
func (w *Writer) sealKeys() ([]sealKey, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.seal.off {
		return nil, nil
	}
	_, err := w.private()
	return slices.Clone(w.seal.keys), err
}

// paperOf draws a certificate signed with the office's key; mu must be held.
func (w *Writer) paperOf(in *certificates.Input) ([]byte, error) {
	if w.seal.off {
		return certificates.PDF(*in)
	}
	private, err := w.private()
	if err != nil {
		return nil, err
	}
	return signPaper(in, private)
}

// sign signs each statement of a change: a decision on a visit, a certificate, the end of a key.
func sign(c *change.Change, private ed25519.PrivateKey) error {
	by := c.Author
	if c.Kind == "certificate" {
		value, err := issuedAs(c)
		if err != nil {
			return err
		}
		of, err := statement.Of(by, "certificate", c.Record, value)
		if err != nil {
			return err
		}
		c.Set = append(
			c.Set,
			change.Setting{
				Field: statement.Office, Value: []byte(strconv.Quote(statement.Sign(private, of.Bytes()))),
				Sees: []string{},
			},
		)
		return nil
	}
	for i := range c.Set {
		s := &c.Set[i]
		says := c.Kind == "visit" && plant.OfficeField(s.Field) || c.Kind == "key" && s.Field == "ended" ||
			merge.Erases(s.Field) != ""
		if !says || len(s.Value) < 2 || s.Value[0] != '{' {
			continue
		}
		of, err := statement.Of(by, s.Field, c.Record, s.Value)
		if err != nil {
			return err
		}
		s.Value = withMember(s.Value, statement.Office, statement.Sign(private, of.Bytes()))
	}
	return nil
}

// withMember adds a member with a text to an object in canonical bytes.
func withMember(object []byte, name, text string) []byte {
	out := slices.Clone(object[:len(object)-1])
	if len(out) > 1 {
		out = append(out, ',')
	}
	return append(out, strconv.Quote(name)+":"+strconv.Quote(text)+"}"...)
}

// issuedAs writes the fields of a certificate, and its visit, as one object: this is what the
// office's signature covers.
func issuedAs(c *change.Change) ([]byte, error) {
	fields := map[string]json.RawMessage{"parent": []byte(strconv.Quote(c.Parent))}
	for _, s := range c.Set {
		if s.Field != statement.Office {
			fields[s.Field] = s.Value
		}
	}
	return json.Marshal(fields)
}

// publish writes the missing records of the office's keys, and ends each key that another one has
// followed; mu must be held.
func (w *Writer) publish(ctx context.Context) error {
	if w.seal.off || w.seal.known {
		return nil
	}
	last, err := w.private()
	if err != nil {
		return err
	}
	p := w.drafter(w.kept.Device) // the author is the program
	var list []change.Change
	for i, k := range w.seal.keys {
		public := k.public()
		id := statement.RecordOf(public.Thumbprint())
		state, there, err := w.store.Record(id)
		if err != nil {
			return err
		}
		if !there {
			set := []plant.Set{
				{Field: "public", Value: map[string]any{"public": public, "of": "office", "made": k.Made}},
			}
			if i > 0 {
				word, err := vouch(w.seal.keys[i-1].private(), "", id, k.Made)
				if err != nil {
					return err
				}
				set = append(set, plant.Set{Field: "vouched", Value: word})
			}
			one, next, err := p.Edit(merge.State{ID: id, Kind: "key"}, time.Now(), set...)
			if err != nil {
				return err
			}
			list, state = append(list, one), next
		}
		if _, ended := state.Field("ended"); ended || i == len(w.seal.keys)-1 {
			continue
		}
		one, _, err := p.Edit(
			state, time.Now(),
			plant.Set{Field: "ended", Value: map[string]any{"at": plant.Stamp(time.Now()), "why": "replaced"}},
		)
		if err != nil {
			return err
		}
		if err := sign(&one, last); err != nil {
			return err
		}
		list = append(list, one)
	}
	if len(list) > 0 {
		if err := w.add(ctx, list, nil); err != nil {
			return err
		}
	}
	w.seal.known = true
	return nil
}

// vouch writes that a key belongs to a person, or to the office ("").
func vouch(private ed25519.PrivateKey, person, key, at string) (map[string]any, error) {
	word := map[string]any{"at": at}
	b, err := plant.Canonical(word)
	if err != nil {
		return nil, err
	}
	of, err := statement.Of(person, "vouched", key, b)
	word[statement.Office] = statement.Sign(private, of.Bytes())
	return word, err
}

// Carries makes this a hub's office: it signs nothing of its own.
func (o *Office) Carries() { o.writer.seal.off = true }

// IssueMark judges a certificate by the office's signature on the change that wrote it.
func IssueMark(src plant.Records, order plant.Journal, c *change.Change) (plant.Mark, error) {
	signature, ok := settingOf(c, statement.Office)
	if !ok {
		return plant.MarkNone, nil
	}
	value, err := issuedAs(c)
	if err != nil {
		return plant.MarkBad, nil
	}
	value = append(append(value[:len(value)-1:len(value)-1], `,"office":`...), append(signature, '}')...)
	return plant.MarkOf(
		src, order,
		plant.Said{By: c.Author, Field: "certificate", Record: c.Record, Value: value, Change: c.ID},
		statement.Office,
	)
}
