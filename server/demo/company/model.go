package company

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/demo"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// The kinds of token; they decide what a copy writes in their place.
const (
	ofCopy    = iota // a record, change or value of the instrument itself
	ofSite           // of the site's standards
	ofAuthor         // a person: a technician of the site, its reviewer, an administrator
	ofName           // the name of the technician
	ofTag            // the tag
	ofSerial         // the serial
	ofLabel          // the label
	ofArea           // the area
	ofPlant          // the site
	unchanged        // a method: the company has each only once
)

// token is a place in a text at which a copy writes something else.
type token struct {
	whose int
	key   string // for ofCopy and ofSite: the start of the id, its clock and its place among its kind
	role  string // for ofAuthor
}

// text is a text with tokens between its pieces: there is one more piece than tokens.
type text struct {
	pieces []string
	tokens []token
}

// setting is a field of a change with what a copy writes.
type setting struct {
	field, value text
	sees         []token
}

// draft is a change of a model.
type draft struct {
	id, record, site, parent, author token
	kind, wall                       string
	at                               int64 // wall, in milliseconds
	year                             int
	first                            bool // it begins its record
	set                              []setting
	captures                         int
	printed                          bool // it is a certificate with its fingerprint
}

// model is an instrument with all its work, day by day.
type model struct {
	drafts []draft
	due    string
	method string
}

// models are the originals of a company.
type models struct {
	list      []model
	standards []draft
	methods   []change.Change
	head      []byte // the letterhead, as the office keeps it

	administrator string // who wrote the methods
}

// readModels invents a plant in a temporary folder and splits it into models.
func readModels(ctx context.Context, o demo.Options) (m *models, err error) {
	dir, err := os.MkdirTemp("", "models")
	if err != nil {
		return nil, err
	}
	defer func() { err = cmp.Or(err, os.RemoveAll(dir)) }()
	s, err := store.OpenWith(dir, store.Options{NoSync: true, NoLog: true})
	if err != nil {
		return nil, err
	}
	defer func() { err = cmp.Or(err, s.Close()) }()
	made, err := demo.Seed(ctx, s, o)
	if err != nil {
		return nil, err
	}
	if made.NoHistory {
		return nil, fmt.Errorf("this build cannot calculate findings")
	}
	t := &taker{tokens: map[string]token{}, instrument: map[string]string{}}
	for _, p := range made.People {
		t.tokens[p.ID] = token{whose: ofAuthor, role: p.Role}
	}
	m = &models{}
	for _, p := range made.People {
		if p.Role == "administrator" {
			m.administrator = p.ID
		}
	}
	if m.head, err = s.Private("office").Get("letterhead"); err != nil {
		return nil, err
	}
	list, _, err := s.Since(0, 0, nil)
	if err != nil {
		return nil, err
	}
	of := map[string][]change.Change{} // by instrument
	var order []string
	var standards []change.Change
	for i := range list { // runs come before their visit
		if c := &list[i].Change; c.Kind == "visit" {
			t.instrument[c.Record] = c.Parent
		}
	}
	for i := range list {
		c := &list[i].Change
		switch c.Kind {
		case "method":
			t.tokens[c.Record] = token{whose: unchanged}
			m.methods = append(m.methods, *c)
		case "site":
			t.tokens[c.Record] = token{whose: ofPlant}
		case "standard":
			standards = append(standards, *c)
		case "person", "round":
		default:
			top := c.Parent
			switch c.Kind {
			case "instrument":
				top = c.Record
				if of[top] == nil {
					order = append(order, top)
				}
			case "run", "certificate":
				top = t.instrument[c.Parent]
			}
			of[top] = append(of[top], *c)
		}
	}
	t.name(ofSite, standards)
	for i := range standards {
		d := t.draft(&standards[i])
		d.set = t.settings(&standards[i], nil)
		m.standards = append(m.standards, d)
	}
	for _, id := range order { // a standard's own calibration belongs to no instrument
		m.list = append(m.list, t.model(id, of[id], made.People))
	}
	return m, nil
}

// taker splits changes into tokens and text.
type taker struct {
	tokens     map[string]token
	instrument map[string]string // record → its instrument
}

const idSize = 26

// name assigns a token to every id made by the changes. The ids of a copy have the order in which
// they were made, like those of a phone.
func (t *taker) name(whose int, list []change.Change) {
	n := 0
	for i := range list {
		c := &list[i]
		at, _ := time.Parse(time.RFC3339, c.Wall)
		give := func(id string) {
			if _, known := t.tokens[id]; len(id) == idSize && change.IsID(id) && !known {
				t.tokens[id] = token{whose: whose, key: clockOf(at.UnixMilli()) + digits(int64(n), 4)}
				n++
			}
		}
		give(c.Record)
		give(c.ID)
		for k := range c.Set {
			if _, id, ok := strings.Cut(c.Set[k].Field, "."); ok {
				give(id)
			}
			for _, id := range quoted(c.Set[k].Value) {
				give(id)
			}
		}
	}
}

const alphabet = "0123456789abcdefghjkmnpqrstvwxyz"

// digits writes a number in the letters of ids.
func digits(n int64, places int) string {
	b := make([]byte, places)
	for i := places - 1; i >= 0; i-- {
		b[i] = alphabet[n&31]
		n >>= 5
	}
	return string(b)
}

// clockOf is the first part of an id: its moment, in milliseconds.
func clockOf(ms int64) string { return digits(ms, 10) }

// quoted lists the ids among the texts of a JSON value.
func quoted(value []byte) (ids []string) {
	for {
		i := bytes.IndexByte(value, '"')
		if i < 0 {
			return ids
		}
		value = value[i+1:]
		if j := bytes.IndexByte(value, '"'); j == idSize && change.IsID(string(value[:j])) {
			ids, value = append(ids, string(value[:j])), value[j+1:]
		}
	}
}

// cut splits a text at its tokens, which are in quotes; special are those that are not ids.
func (t *taker) cut(s string, special map[string]token) (out text) {
	began := 0
	for i := 0; i < len(s); i++ {
		if s[i] != '"' {
			continue
		}
		j := strings.IndexByte(s[i+1:], '"')
		if j < 0 {
			break
		}
		word := s[i+1 : i+1+j]
		one, known := special[word]
		if !known && j == idSize {
			one, known = t.tokens[word]
		}
		if !known || one.whose == unchanged {
			continue
		}
		out.pieces, out.tokens = append(out.pieces, s[began:i+1]), append(out.tokens, one)
		began = i + 1 + j
		i = began
	}
	out.pieces = append(out.pieces, s[began:])
	return out
}

// draft splits a change into tokens and text.
func (t *taker) draft(c *change.Change) draft {
	at, _ := time.Parse(time.RFC3339, c.Wall)
	return draft{
		id: t.tokens[c.ID], record: t.tokens[c.Record], site: t.tokens[c.Site], parent: t.tokens[c.Parent],
		author: t.tokens[c.Author], kind: c.Kind, wall: c.Wall, at: at.UnixMilli(), year: at.UTC().Year(),
	}
}

func (t *taker) settings(c *change.Change, special map[string]token) (list []setting) {
	for _, x := range c.Set {
		one := setting{field: text{pieces: []string{x.Field}}}
		if name, id, ok := strings.Cut(x.Field, "."); ok {
			if known, is := t.tokens[id]; is {
				one.field = text{[]string{name + ".", ""}, []token{known}}
			}
		}
		value := string(x.Value)
		if x.Field == "signature" || x.Field == "approval" {
			value = t.inOrder(value)
		}
		one.value = t.cut(value, special)
		for _, id := range x.Sees {
			one.sees = append(one.sees, t.tokens[id])
		}
		slices.SortFunc(one.sees, func(a, b token) int { return strings.Compare(a.key, b.key) })
		list = append(list, one)
	}
	return list
}

// inOrder puts the changes that a signature covers into the order of their copies.
func (t *taker) inOrder(value string) string {
	const opens = `"covers":["`
	i := strings.Index(value, opens)
	if i < 0 {
		return value
	}
	i += len(opens)
	j := i + strings.Index(value[i:], `"]`)
	ids := strings.Split(value[i:j], `","`)
	slices.SortFunc(ids, func(a, b string) int { return strings.Compare(t.tokens[a].key, t.tokens[b].key) })
	return value[:i] + strings.Join(ids, `","`) + value[j:]
}

// model splits an instrument and its work into tokens and text.
func (t *taker) model(id string, list []change.Change, people []demo.Person) model {
	slices.SortStableFunc(list, func(a, b change.Change) int { return strings.Compare(a.Wall, b.Wall) })
	t.name(ofCopy, list)
	special := map[string]token{}
	for _, p := range people {
		special[p.Name] = token{whose: ofName}
	}
	var m model
	known := map[string]bool{}
	for i := range list {
		c := &list[i]
		if c.Record == id {
			for _, x := range c.Set {
				var word string
				if word, _ = strconv.Unquote(string(x.Value)); word == "" {
					continue
				}
				switch x.Field {
				case "tag":
					special[word] = token{whose: ofTag, key: strings.TrimRight(word, "0123456789")}
				case "serial":
					special[word] = token{whose: ofSerial, key: word}
				case "label":
					special[word] = token{whose: ofLabel}
				case "area":
					special[word] = token{whose: ofArea, key: word}
				case "due":
					m.due = word
				case "method":
					m.method = word
				}
			}
		}
		d := t.draft(c)
		d.set, d.first = t.settings(c, special), !known[c.Record]
		known[c.Record] = true
		for _, x := range c.Set {
			if strings.HasPrefix(x.Field, "capture.") {
				d.captures++
			}
		}
		m.drafts = append(m.drafts, d)
	}
	for i := range m.drafts {
		of := &m.drafts[i].parent
		for k := range m.drafts {
			if d := &m.drafts[k]; m.drafts[i].kind == "certificate" && d.kind != "certificate" &&
				(d.record == *of || d.parent == *of) {
				d.printed = true
			}
		}
	}
	return m
}
