package change

import (
	"errors"
	"io"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/sync/clock"
)

// Change is one edit or addition, the unit of sync. It is never altered after it was made.
type Change struct {
	ID     string
	Device string
	Seq    uint64 // counts the device's changes from 1
	Author string // user id
	Wall   string // the device's clock at that moment, RFC 3339 UTC with milliseconds; may be wrong
	Stamp  clock.Stamp
	Record string
	Kind   string
	Site   string
	Parent string
	Set    []Setting
}

// Setting gives one field a value.
type Setting struct {
	Field string
	Value []byte   // canonical JSON
	Sees  []string // ids of the changes that were the field's heads before this one, sorted
}

// Version is the number of the byte form. A reader takes this form and lower ones. It keeps fields
// that it does not know only inside values.
const Version = 1

// ErrChange is wrapped by every refusal of a change's bytes.
var ErrChange = errors.New("not a change")

// Bytes returns the canonical bytes: the fields in the order of the format, without spaces.
func (c *Change) Bytes() []byte {
	size := 320
	for i := range c.Set {
		size += 40 + len(c.Set[i].Field) + len(c.Set[i].Value) + 29*len(c.Set[i].Sees)
	}
	return c.Append(make([]byte, 0, size))
}

// Append appends the canonical bytes to b.
func (c *Change) Append(b []byte) []byte {
	b = append(b, `{"v":1,"id":`...)
	b = document.AppendText(b, c.ID)
	b = append(b, `,"device":`...)
	b = document.AppendText(b, c.Device)
	b = append(b, `,"seq":`...)
	b = strconv.AppendUint(b, c.Seq, 10)
	b = append(b, `,"author":`...)
	b = document.AppendText(b, c.Author)
	b = append(b, `,"wall":`...)
	b = document.AppendText(b, c.Wall)
	b = append(b, `,"stamp":`...)
	if IsID(c.Stamp.Device) {
		b = append(c.Stamp.Append(append(b, '"')), '"')
	} else {
		b = document.AppendText(b, c.Stamp.String())
	}
	b = append(b, `,"record":`...)
	b = document.AppendText(b, c.Record)
	b = append(b, `,"kind":`...)
	b = document.AppendText(b, c.Kind)
	b = append(b, `,"site":`...)
	b = document.AppendText(b, c.Site)
	b = append(b, `,"parent":`...)
	b = document.AppendText(b, c.Parent)
	b = append(b, `,"set":[`...)
	for i := range c.Set {
		s := &c.Set[i]
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, `{"field":`...)
		b = document.AppendText(b, s.Field)
		b = append(b, `,"value":`...)
		b = append(b, s.Value...)
		b = append(b, `,"sees":[`...)
		for k, id := range s.Sees {
			if k > 0 {
				b = append(b, ',')
			}
			b = document.AppendText(b, id)
		}
		b = append(b, ']', '}')
	}
	return append(b, ']', '}')
}

// Parse reads one change.
//
// Takes:   the canonical bytes.
// Gives:   the change; its Bytes are the input.
// Refuses: a Fault naming the field for anything else: unknown or missing fields, limits, ids,
// stamps, fields out of order.
func Parse(b []byte) (Change, error) {
	if c, ok := quick(b); ok {
		return c, nil
	}
	return parse(b)
}

// Quick reads one change whose bytes are canonical, in a fraction of Parse's time. It refuses some
// canonical changes; Parse reads those and says what is wrong with the others.
func Quick(b []byte) (Change, bool) { return quick(b) }

func parse(b []byte) (Change, error) {
	if len(b) > MaxBytes {
		return Change{}, document.Refuse(document.CodeRange, "", "the change is too large")
	}
	v, err := document.Parse(b)
	if err != nil {
		return Change{}, err
	}
	c, err := Read(document.Open(v))
	if err != nil {
		return Change{}, err
	}
	if string(c.Bytes()) != string(b) {
		return Change{}, document.Refuse(document.CodeShape, "", "the bytes are not canonical")
	}
	return c, nil
}

// Read takes a change from an object and reads the object to its end.
func Read(r *document.Reader) (Change, error) {
	if v := r.Whole("v", 1, 1<<30); r.Err() == nil && v > Version {
		r.Fail(document.CodeRange, "v", "this change was written by a newer version of the program")
	}
	c := Change{
		ID: r.Text("id"), Device: r.Text("device"), Seq: uint64(r.Whole("seq", 1, 1<<50)), Author: r.Text("author"), Wall: r.Text("wall"),
		Record: "", Kind: "",
	}
	stamp := r.Text("stamp")
	c.Record, c.Kind, c.Site, c.Parent = r.Text("record"), r.Text("kind"), r.Text("site"), r.Text("parent")
	for _, s := range r.List("set") {
		set := Setting{Field: s.Text("field")}
		if v, ok := s.Raw("value"); ok {
			set.Value = document.AppendValue(nil, v)
		} else {
			set.Value = []byte("null")
		}
		set.Sees = s.Texts("sees")
		if r.Err() == nil && len(set.Sees) > MaxSees {
			s.Fail(document.CodeRange, "sees", "names too many changes")
		}
		for i, id := range set.Sees {
			if r.Err() == nil && (!IsID(id) || i > 0 && set.Sees[i-1] >= id) {
				s.Fail(document.CodeShape, "sees", "needs ids in rising order")
			}
		}
		if r.Err() == nil && !isName(set.Field, MaxField) {
			s.Fail(document.CodeShape, "field", "is not a field name")
		}
		if r.Err() == nil && len(set.Value) > MaxValue {
			s.Fail(document.CodeRange, "value", "is too large; a photo or trace goes beside the changes, not into them")
		}
		c.Set = append(c.Set, set)
	}
	if err := r.Err(); err != nil {
		return Change{}, err
	}
	var err error
	if c.Stamp, err = clock.Parse(stamp); err != nil {
		r.Fail(document.CodeShape, "stamp", err.Error())
	}
	check(r, &c)
	if err := r.Err(); err != nil {
		return Change{}, err
	}
	return c, nil
}

func check(r *document.Reader, c *Change) {
	for _, x := range []struct{ name, id string }{{"id", c.ID}, {"device", c.Device}, {"author", c.Author}, {"record", c.Record}} {
		if r.Err() == nil && !IsID(x.id) {
			r.Fail(document.CodeShape, x.name, "is not an id")
		}
	}
	for _, x := range []struct{ name, id string }{{"site", c.Site}, {"parent", c.Parent}} {
		if r.Err() == nil && x.id != "" && !IsID(x.id) {
			r.Fail(document.CodeShape, x.name, "is not an id")
		}
	}
	if r.Err() == nil && !isName(c.Kind, MaxField) {
		r.Fail(document.CodeShape, "kind", "is not a kind of record")
	}
	if r.Err() == nil && !isTime(c.Wall) {
		r.Fail(document.CodeShape, "wall", "is not a time such as 2026-01-02T03:04:05.678Z")
	}
	if r.Err() == nil && c.Stamp.Device != c.Device {
		r.Fail(document.CodeConflict, "stamp", "is of another device")
	}
	if r.Err() == nil && (len(c.Set) == 0 || len(c.Set) > MaxSet) {
		r.Fail(document.CodeRange, "set", "needs from 1 to 4096 fields")
	}
	seen := map[string]bool{}
	for _, s := range c.Set {
		if r.Err() == nil && seen[s.Field] {
			r.Fail(document.CodeConflict, "set", "gives the field "+s.Field+" twice")
		}
		seen[s.Field] = true
	}
}

const (
	alphabet = "0123456789abcdefghjkmnpqrstvwxyz"
	idLength = 26
)

// NewID returns 26 characters made from 130 bits of random.
func NewID(random io.Reader) (string, error) {
	var b [idLength]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return "", errors.Join(errors.New("no random bytes for an id"), err)
	}
	for i := range b {
		b[i] = alphabet[b[i]&31]
	}
	return string(b[:]), nil
}

// IsID reports whether s is 1 to 26 characters of the id alphabet. New ids have 26; programs that
// choose ids by hand may use fewer.
func IsID(s string) bool {
	if len(s) == 0 || len(s) > idLength {
		return false
	}
	for i := range len(s) {
		c := s[i]
		if !(c >= '0' && c <= '9' || c >= 'a' && c <= 'z' && c != 'i' && c != 'l' && c != 'o' && c != 'u') {
			return false
		}
	}
	return true
}

func isName(s string, most int) bool {
	if len(s) == 0 || len(s) > most {
		return false
	}
	for i := range len(s) {
		c := s[i]
		if !(c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '_' || c == '.') {
			return false
		}
	}
	return true
}

func isTime(s string) bool {
	const form = "dddd-dd-ddTdd:dd:dd.dddZ"
	if len(s) != len(form) {
		return false
	}
	for i := range len(s) {
		if form[i] == 'd' {
			if s[i] < '0' || s[i] > '9' {
				return false
			}
		} else if s[i] != form[i] {
			return false
		}
	}
	return true
}
