package company

import (
	"crypto/sha256"

	"gaugewright/sync/change"
)

// place is where a copy of a model is and who works there.
type place struct {
	site, tag, number, serial, area     string
	technician, reviewer, administrator *person
	standards, own                      scope
}

// scope makes ids that differ from those of other scopes.
type scope [8]byte

// id makes the id of a token from its clock, its place and the scope, in letters of ids.
func (s scope) id(key string) string {
	var b [8 + 16]byte
	copy(b[:], s[:])
	sum := sha256.Sum256(append(b[:8], key...))
	out := make([]byte, idSize)
	n := copy(out, key)
	for i := n; i < idSize; i++ {
		out[i] = alphabet[sum[i-n]&31]
	}
	return string(out)
}

func (p *place) word(t *token) string {
	switch t.whose {
	case ofCopy:
		return p.own.id(t.key)
	case ofSite:
		return p.standards.id(t.key)
	case ofAuthor:
		return p.who(t).id
	case ofName:
		return p.technician.name
	case ofTag:
		return p.tag + t.key + p.number
	case ofSerial:
		return p.serial
	case ofLabel:
		return p.own.id("")[:10]
	case ofArea:
		return t.key + p.area
	case ofPlant:
		return p.site
	}
	return ""
}

func (p *place) who(t *token) *person {
	switch t.role {
	case "technician":
		return p.technician
	case "reviewer":
		return p.reviewer
	}
	return p.administrator
}

func (p *place) write(t *text) []byte {
	b := make([]byte, 0, 64)
	for i := range t.pieces {
		b = append(b, t.pieces[i]...)
		if i < len(t.tokens) {
			b = append(b, p.word(&t.tokens[i])...)
		}
	}
	return b
}

// change writes a draft as a change of this place, without device, sequence and stamp.
func (p *place) change(d *draft) change.Change {
	c := change.Change{
		ID: p.word(&d.id), Wall: d.wall, Record: p.word(&d.record), Kind: d.kind, Author: p.word(&d.author),
		Set: make([]change.Setting, len(d.set)),
	}
	if d.site != (token{}) {
		c.Site = p.word(&d.site)
	}
	if d.parent != (token{}) {
		c.Parent = p.word(&d.parent)
	}
	for i := range d.set {
		s := &d.set[i]
		sees := make([]string, len(s.sees))
		for k := range s.sees {
			sees[k] = p.word(&s.sees[k])
		}
		c.Set[i] = change.Setting{Field: string(p.write(&s.field)), Value: p.write(&s.value), Sees: sees}
	}
	return c
}
