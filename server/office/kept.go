package office

import (
	"bytes"
	"encoding/gob"
	"maps"
	"slices"

	"gaugewright/server/plant"
)

// kept is an index as it was at an entry of the journal, so that a start need not read every
// record. It says nothing that the records do not say: without it the index reads them.
type kept struct {
	Form    int
	Cursor  uint64
	Gauges  []*facts
	Visits  []keptVisit
	Methods map[string]keptMethod
}

type keptVisit struct {
	ID, Instrument, Started, Signed, Status, Verdict string
	Left, Person                                     string
	Standards                                        []string
	Open, Damaged                                    bool
}

type keptMethod struct {
	Name       string
	Definition []byte
	Cautions   []string
}

const (
	// keptForm is raised where readFacts or read takes other things of a record than before.
	keptForm = 2
	// keptEvery is how many entries of the journal may come before the index is kept again.
	keptEvery = 2000
	// keptFrom is how many records an index has that is worth keeping.
	keptFrom = 1000
)

// keep writes the index beside the journal; mu is held. Where it cannot be written, the next start
// takes longer and nothing else.
func (x *Index) keep() {
	if len(x.gauges)+len(x.visits) < keptFrom || x.cursor < x.keptAt+keptEvery && x.keptAt > 0 {
		return
	}
	k := kept{Form: keptForm, Cursor: x.cursor, Methods: map[string]keptMethod{}}
	for _, id := range slices.Sorted(maps.Keys(x.gauges)) {
		k.Gauges = append(k.Gauges, x.gauges[id].facts)
	}
	for _, id := range slices.Sorted(maps.Keys(x.visits)) {
		v := x.visits[id]
		k.Visits = append(k.Visits, keptVisit{
			v.id, v.instrument, v.started, v.signed, string(v.status), v.verdict, v.left, v.person, v.standards,
			v.open, v.damaged,
		})
	}
	for id, m := range x.methods {
		k.Methods[id] = keptMethod{m.name, m.definition, m.cautions}
	}
	var b bytes.Buffer
	if gob.NewEncoder(&b).Encode(k) == nil && x.store.Private("office").Put("index", b.Bytes()) == nil {
		x.keptAt = x.cursor
	}
}

// recall takes the index as it was kept, and says whether there was one of this form; mu is held.
func (x *Index) recall() bool {
	b, err := x.store.Private("office").Get("index")
	if err != nil || b == nil {
		return false
	}
	var k kept
	last, err := x.store.Last()
	if err != nil || gob.NewDecoder(bytes.NewReader(b)).Decode(&k) != nil {
		return false
	}
	if k.Form != keptForm || k.Cursor > last {
		return false
	}
	for id, m := range k.Methods {
		x.putMethod(id, methodCard{m.Name, m.Definition, m.Cautions})
	}
	for _, v := range k.Visits {
		x.putVisit(visitCard{
			v.ID, v.Instrument, v.Started, v.Signed, plant.Status(v.Status), v.Verdict, v.Left, v.Person,
			v.Standards, v.Open, v.Damaged,
		})
	}
	for _, f := range k.Gauges {
		x.putGauge(newCard(f))
	}
	x.cursor, x.keptAt = k.Cursor, k.Cursor
	return true
}
