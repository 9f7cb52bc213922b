package office

import (
	"bytes"
	"cmp"
	"hash/maphash"
	"iter"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/plant"
)

// A company has millions of visits, and all of them are in the index. So an entry holds no pointers
// and no text: what many visits say is a number in words, a moment and an id are packed. It takes
// 80 bytes where the same as a visitCard takes over 400.

// visitEntry is a visit in the index; its numbers are words of the index.
type visitEntry struct {
	started, signed moment
	instrument      uint32
	status          uint32
	verdict, left   uint32
	person          uint32
	standards       uint32 // their ids, parted by spaces
	begun, ended    int32  // the days of started and signed, since 1970-01-01; noDay if there is none
	id              packedID
	open, damaged   bool
}

// noDay is the day of a moment that is not there or cannot be read.
const noDay = -1 << 31

// packedID is a record's id, which has 26 characters at most, with zeros after it.
type packedID [26]byte

func packID(id string) (p packedID) {
	copy(p[:], id)
	return p
}

func (p *packedID) text() string {
	if end := bytes.IndexByte(p[:], 0); end >= 0 {
		return string(p[:end])
	}
	return string(p[:])
}

// visitPart is how many entries are allocated at once.
const visitPart = 4096

// visitList numbers the visits of the index and holds their entries. The table of their ids has no
// ids in it, only numbers: an id is looked for from the place that its hash gives.
type visitList struct {
	parts []*[visitPart]visitEntry
	count uint32
	seed  maphash.Seed
	slots []uint32 // a number and one, or 0 for none; their count is a power of two
}

func newVisitList() visitList {
	return visitList{seed: maphash.MakeSeed(), slots: make([]uint32, 64)}
}

func (l *visitList) at(n uint32) *visitEntry { return &l.parts[n/visitPart][n%visitPart] }

// slot returns where the number of an id is, or belongs.
func (l *visitList) slot(id packedID) int {
	mask := len(l.slots) - 1
	for i := int(maphash.Comparable(l.seed, id)) & mask; ; i = (i + 1) & mask {
		if n := l.slots[i]; n == 0 || l.at(n-1).id == id {
			return i
		}
	}
}

func (l *visitList) find(id string) (n uint32, known bool) {
	n = l.slots[l.slot(packID(id))]
	return n - 1, n > 0
}

// add makes an empty entry for an id that is not known.
func (l *visitList) add(id string) (n uint32, e *visitEntry) {
	n = l.count
	if n%visitPart == 0 {
		l.parts = append(l.parts, new([visitPart]visitEntry))
	}
	l.count++
	e = l.at(n)
	e.id, e.begun, e.ended = packID(id), noDay, noDay
	if len(l.slots) < 2*int(l.count) {
		l.slots = make([]uint32, 2*len(l.slots))
		for k := range n {
			l.slots[l.slot(l.at(k).id)] = k + 1
		}
	}
	l.slots[l.slot(e.id)] = n + 1
	return n, e
}

func (l *visitList) all() iter.Seq2[uint32, *visitEntry] {
	return func(yield func(uint32, *visitEntry) bool) {
		for n := range l.count {
			if !yield(n, l.at(n)) {
				return
			}
		}
	}
}

// words are texts that many records have. Each has a number; "" is 0.
type words struct {
	numbers map[string]uint32
	texts   []string
}

func newWords() words { return words{numbers: map[string]uint32{"": 0}, texts: []string{""}} }

// number returns the number of a text, a new one where it is not known.
func (w *words) number(text string) uint32 {
	n, known := w.numbers[text]
	if !known {
		text = strings.Clone(text)
		n = uint32(len(w.texts))
		w.texts, w.numbers[text] = append(w.texts, text), n
	}
	return n
}

// one returns the shared copy of a text.
func (w *words) one(text string) string { return w.texts[w.number(text)] }

// moment is a moment as a record writes it, in 64 bits: milliseconds since 1970, minutes of the
// zone, and whether the text has milliseconds. A text of another form is a word of the index, and
// its bit odd is set. 0 is "".
type moment int64

const (
	odd, thousandths = 1, 2
	zoneShift        = 2
	zoneZero         = 2048 // zones are below this many minutes
	zoneMask         = 2*zoneZero - 1
	momentShift      = 14
)

// withThousandths and withSeconds are the forms of a moment in a record.
const (
	withThousandths = "2006-01-02T15:04:05.000Z07:00"
	withSeconds     = time.RFC3339
)

// moment packs the text of a moment.
func (w *words) moment(text string) moment {
	if text == "" {
		return 0
	}
	at, err := time.Parse(time.RFC3339, text)
	if err == nil {
		_, zone := at.Zone()
		m := moment(at.UnixMilli()<<momentShift | int64(zone/60+zoneZero)<<zoneShift)
		if len(text) > len("2006-01-02T15:04:05") && text[len("2006-01-02T15:04:05")] == '.' {
			m |= thousandths
		}
		if w.text(m) == text {
			return m
		}
	}
	return moment(w.number(text))<<momentShift | odd
}

// text returns the text of a moment.
func (w *words) text(m moment) string {
	switch {
	case m == 0:
		return ""
	case m&odd != 0:
		return w.texts[m>>momentShift]
	}
	form := withSeconds
	if m&thousandths != 0 {
		form = withThousandths
	}
	return time.UnixMilli(int64(m >> momentShift)).In(m.zone()).Format(form)
}

func (m moment) zone() *time.Location {
	minutes := int(m>>zoneShift)&zoneMask - zoneZero
	if minutes == 0 {
		return time.UTC
	}
	return time.FixedZone("", minutes*60)
}

// ms returns the milliseconds since 1970 of a moment, and whether it is one.
func (w *words) ms(m moment) (ms int64, ok bool) {
	if m == 0 {
		return 0, false
	}
	if m&odd != 0 {
		at, err := time.Parse(time.RFC3339, w.text(m))
		return at.UnixMilli(), err == nil
	}
	return int64(m >> momentShift), true
}

// order orders moments: "" comes first, then what is no moment, then by time, the same time by its text.
func (w *words) order(a, b moment) int {
	switch {
	case a == b:
		return 0
	case (a|b)&odd == 0 && a != 0 && b != 0 && a>>momentShift != b>>momentShift:
		return cmp.Compare(a>>momentShift, b>>momentShift)
	}
	rank := func(m moment) (int, int64) {
		ms, ok := w.ms(m)
		switch {
		case m == 0:
			return 0, 0
		case !ok:
			return 1, 0
		}
		return 2, ms
	}
	kindA, msA := rank(a)
	kindB, msB := rank(b)
	return cmp.Or(cmp.Compare(kindA, kindB), cmp.Compare(msA, msB), strings.Compare(w.text(a), w.text(b)))
}

// dayOf returns the day of a moment in the office's calendar.
func (x *Index) dayOf(m moment) int32 {
	ms, ok := x.words.ms(m)
	if !ok {
		return noDay
	}
	y, month, d := time.UnixMilli(ms).In(x.now().Location()).Date()
	return int32(document.DayNumber(y, int(month), d))
}

// dayIn returns the number of a date, as entries have it.
func dayIn(date string) int32 {
	day, ok := document.ParseDate(date)
	if !ok {
		return noDay
	}
	return int32(day)
}

func dayText(day int32) string {
	if day == noDay {
		return ""
	}
	return dateOf(int(day))
}

// pack fills an entry from a card; its days follow from its moments.
func (x *Index) pack(e *visitEntry, v *visitCard) {
	w := &x.words
	e.started, e.signed = w.moment(v.started), w.moment(v.signed)
	e.status, e.verdict, e.left = w.number(string(v.status)), w.number(v.verdict), w.number(v.left)
	e.person, e.standards = w.number(v.person), w.number(strings.Join(v.standards, " "))
	e.open, e.damaged = v.open, v.damaged
	e.begun, e.ended = x.dayOf(e.started), x.dayOf(e.signed)
}

// visit returns the card of a visit.
func (x *Index) visit(n uint32) *visitCard {
	e, w := x.visits.at(n), &x.words
	return &visitCard{
		id: e.id.text(), instrument: w.texts[e.instrument], started: w.text(e.started), signed: w.text(e.signed),
		status: plant.Status(w.texts[e.status]), verdict: w.texts[e.verdict], left: w.texts[e.left],
		person: w.texts[e.person], standards: x.standardsOf(e), open: e.open, damaged: e.damaged,
		begun: dayText(e.begun), ended: dayText(e.ended),
	}
}

func (x *Index) standardsOf(e *visitEntry) []string {
	return strings.Fields(x.words.texts[e.standards])
}

// days returns the days on which a visit began and was signed.
func (e *visitEntry) days() (list []int32) {
	if e.begun != noDay {
		list = append(list, e.begun)
	}
	if e.ended != noDay && e.ended != e.begun {
		list = append(list, e.ended)
	}
	return list
}

// later orders visits by when they began, and by id.
func (x *Index) later(a, b *visitEntry) int {
	return cmp.Or(x.words.order(a.started, b.started), bytes.Compare(a.id[:], b.id[:]))
}
