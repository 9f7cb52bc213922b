package office

import (
	"bytes"
	"encoding/gob"
	"encoding/json"
	"errors"
	"strconv"
	"strings"

	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

// The index is kept beside the journal, one line for each instrument and visit, so that a start
// does not have to read every record and a change rewrites only its line. It holds nothing that the
// records do not say; without it the index reads them. The journal corrects outdated lines: the
// index follows it from the entry that the head names.

// keptHead says up to which entry of the journal the lines are current.
type keptHead struct {
	Form    int
	Cursor  uint64
	Methods map[string]keptMethod
	// After has the last record read of each kind while not all are read: the next start goes on there.
	After map[string]string
}

type keptMethod struct {
	Name       string
	Definition []byte
	Cautions   []string
}

const (
	// keptForm is raised where readFacts or read takes other things of a record than before.
	keptForm = 4
	// partForm is the form while the records are being read for the first time. An earlier version of
	// the program, which would take a part for the whole, reads all of them.
	partForm = 1000 + keptForm
	// keptEvery is how many entries of the journal may come before the index is kept again.
	keptEvery = 500
	// keptFrom is how many records make an index worth keeping.
	keptFrom = 1000
	// keptLines is how many lines are written at once.
	keptLines = 5000
	// keptHere is where the lines are, and keptName the name of the head, which cannot be an id.
	keptHere, keptName = "index", " head"
	gaugeLine          = "g"
	visitLine          = "v"
)

// keep writes what changed in the index; mu must be held. If it cannot be written, the next start
// takes longer, that is all.
func (x *Index) keep() {
	if len(x.gauges)+int(x.visits.count) < keptFrom || x.cursor < x.keptAt+keptEvery && x.keptAt > 0 {
		return
	}
	if x.keptAt == 0 && x.store.Private("office").Delete("index") != nil { // of earlier versions
		return
	}
	x.write()
}

// write writes the lines that changed, and the head.
func (x *Index) write() {
	lines := x.store.Private(keptHere)
	put := map[string][]byte{}
	for id := range x.unkept {
		if n, known := x.visits.find(id); known {
			put[visitLine+id] = x.visit(n).line()
		} else if c := x.gauges[id]; c != nil {
			b, err := json.Marshal(c.facts)
			if err != nil {
				return
			}
			put[gaugeLine+id] = b
		}
		if len(put) == keptLines {
			if lines.Batch(put, nil) != nil {
				return
			}
			put = map[string][]byte{}
		}
	}
	head := keptHead{Form: keptForm, Cursor: x.cursor, Methods: map[string]keptMethod{}, After: x.after}
	if x.after != nil {
		head.Form = partForm
	}
	for id, m := range x.methods {
		head.Methods[id] = keptMethod{m.name, m.definition, m.cautions}
	}
	var b bytes.Buffer
	if gob.NewEncoder(&b).Encode(head) != nil {
		return
	}
	put[keptName] = b.Bytes()
	if lines.Batch(put, nil) == nil {
		x.keptAt, x.unkept = x.cursor, map[string]bool{}
	}
}

// line writes a visit as its members, separated by zero bytes.
func (v *visitCard) line() []byte {
	return []byte(strings.Join([]string{
		v.instrument, v.started, v.signed, string(v.status), v.verdict, v.left, v.person,
		strings.Join(v.standards, " "), strconv.FormatBool(v.open), strconv.FormatBool(v.damaged),
	}, "\x00"))
}

func readLine(id, line string) (v visitCard, ok bool) {
	m := strings.Split(line, "\x00")
	if len(m) != 10 {
		return v, false
	}
	return visitCard{
		id: id, instrument: m[0], started: m[1], signed: m[2], status: plant.Status(m[3]), verdict: m[4],
		left: m[5], person: m[6], standards: strings.Fields(m[7]), open: m[8] == "true", damaged: m[9] == "true",
	}, true
}

var errKept = errors.New("the index is kept in another form")

// recall loads the index as it was kept, and reports whether there was one of this form; mu must be
// held.
func (x *Index) recall() bool {
	if !x.recalled() {
		x.empty() // drop what was read until then
		return false
	}
	return true
}

func (x *Index) recalled() bool {
	defer x.store.ReadsAll()()
	lines := x.store.Private(keptHere)
	b, err := lines.Get(keptName)
	if err != nil || b == nil {
		return false
	}
	var head keptHead
	last, err := x.store.Last()
	if err != nil || gob.NewDecoder(bytes.NewReader(b)).Decode(&head) != nil {
		return false
	}
	if head.Form != keptForm && head.Form != partForm || head.Cursor > last {
		return false
	}
	for _, id := range head.After {
		if _, ok, err := x.store.Record(id); !ok && !errors.Is(err, store.ErrDamaged) {
			return false // it cannot go on after a record that is not there any more
		}
	}
	for id, m := range head.Methods {
		x.putMethod(id, methodCard{m.Name, m.Definition, m.Cautions})
	}
	// Instruments come before visits: g before v.
	err = lines.Each(func(k string, line []byte) error {
		switch id := k[min(1, len(k)):]; {
		case k == keptName:
		case strings.HasPrefix(k, gaugeLine):
			f := &facts{}
			if err := json.Unmarshal(line, f); err != nil {
				return err
			}
			x.putGauge(newCard(f))
		case strings.HasPrefix(k, visitLine):
			v, ok := readLine(id, string(line))
			if !ok {
				return errKept
			}
			x.putVisit(v)
		}
		return nil
	})
	x.cursor, x.keptAt, x.after = head.Cursor, head.Cursor, head.After
	return err == nil
}

// empty resets the index.
func (x *Index) empty() {
	fresh := NewIndex(x.store, x.now)
	x.cursor, x.keptAt, x.after = 0, 0, nil
	x.visits, x.of = fresh.visits, fresh.of
	x.days, x.open, x.used = fresh.days, fresh.open, fresh.used
	x.gauges, x.methods, x.orders = fresh.gauges, fresh.methods, fresh.orders
	x.unkept, x.values = fresh.unkept, fresh.values
	x.served, x.minutes = fresh.served, nil
}
