package world

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/merge"
)

// disk is everything that a phone keeps. Parts that belong together are written together or not at
// all, as in a transaction of the phone's database.
type disk struct {
	device     string
	seq, count uint64
	own        []change.Change // in the order they were made
	aside      map[string]bool // those of own that the office quarantined
	listed     map[string]bool // those of own that are on the phone's list of refused changes
	refused    string          // the name of that list
	outbox     []int           // indexes into own
	records    map[string]merge.State
	ids        []string        // of the records, in the order in which they came
	album      []string        // photos taken here
	photos     []string        // those of album that wait to be sent
	known      map[string]bool // changes that are in records, to check what a writer saw
	place      link.Response   // Store, Epoch, Root and Cursor
	offer      int             // while everything is offered again: the next index into own; else −1
	given      []link.Back     // what it was sent, with the sender's signature
	back       int             // while that is offered: the next index into given; else −1
	backTo     int
}

type phone struct {
	w      *world
	name   string
	users  []string // the people who share it
	user   string   // who is logged in
	node   *node    // the node that it talks to
	disk   disk
	ahead  time.Duration // of its wall clock
	narrow bool          // holds the even records only
	old    bool          // its program is from before refusals were reported
	online bool
	taken  string // the nonce of its latest request that was taken
}

func (w *world) newDisk() disk {
	return disk{
		device: w.id(), aside: map[string]bool{}, listed: map[string]bool{},
		records: map[string]merge.State{}, known: map[string]bool{}, offer: -1, back: -1, refused: unheard,
	}
}

func (d *disk) clone() disk {
	c := *d
	c.own, c.outbox = slices.Clone(d.own), slices.Clone(d.outbox)
	c.ids, c.album, c.photos = slices.Clone(d.ids), slices.Clone(d.album), slices.Clone(d.photos)
	c.aside, c.records, c.known = maps.Clone(d.aside), maps.Clone(d.records), maps.Clone(d.known)
	c.listed, c.given = maps.Clone(d.listed), slices.Clone(d.given)
	return c
}

func (d *disk) put(s merge.State) {
	if _, known := d.records[s.ID]; !known {
		d.ids = append(d.ids, s.ID)
	}
	d.records[s.ID] = s
}

// inScope reports which records a phone holds.
func (p *phone) inScope(record string) bool { return !p.narrow || p.w.even[record] }

// edit changes one or two fields of a record, most often of a known one.
func (p *phone) edit() {
	w := p.w
	var state merge.State
	record := ""
	if n := len(p.disk.ids); n > 0 && w.chance(4, 5) {
		record = p.disk.ids[w.rng.IntN(n)]
		state = p.disk.records[record]
	} else {
		record = w.id()
		w.even[record] = w.chance(1, 2)
	}
	wall := time.UnixMilli(w.now).Add(p.ahead).UTC()
	in := merge.Intent{Record: record, Kind: "visit", Device: p.disk.device, Seq: p.disk.seq + 1, Author: p.user,
		Wall: wall.Format("2006-01-02T15:04:05.000Z"), WallMS: wall.UnixMilli(), Count: p.disk.count, ChangeID: w.id()}
	if state.ID != "" {
		in.Kind, in.Site, in.Parent = state.Kind, state.Site, state.Parent
	}
	for _, f := range w.rng.Perm(3)[:1+w.rng.IntN(2)] {
		in.Set = append(in.Set, change.Setting{Field: fmt.Sprintf("f%d", f), Value: w.value()})
	}
	if w.chance(1, 5) {
		in.Set = append(in.Set, change.Setting{Field: personal, Value: w.someone()})
	}
	photo := ""
	if w.chance(1, 10) {
		photo = w.takePhoto()
		in.Set = append(in.Set, change.Setting{Field: "photo", Value: fmt.Appendf(nil, `{"sha256":%q}`, photo)})
	}
	c, next, err := merge.Draft(state, in)
	if err != nil {
		w.fail("%s could not write: %v", p.name, err)
		return
	}
	d := &p.disk
	w.wrote(&c, d)
	if full := p.refusedByQuota(); full || w.chance(1, 25) {
		delete(w.blobs, photo) // refused, or killed before the write: nobody was told that it was kept
		if full && w.planted == "the quota is not noticed" {
			w.kept[c.ID] = p
		}
		return
	}
	d.seq, d.count = c.Seq, c.Stamp.Count
	d.known[c.ID] = true
	d.put(next)
	if w.planted == "record and outbox are written apart" && w.chance(1, 10) {
		d.seq++ // the page was killed between the two
		return
	}
	d.own = append(d.own, c)
	d.outbox = append(d.outbox, len(d.own)-1)
	w.kept[c.ID] = p
	if photo != "" {
		d.album, d.photos = append(d.album, photo), append(d.photos, photo)
	}
}

// value is a short value, or sometimes a long one, of which few fit into a request.
func (w *world) value() []byte {
	if w.chance(1, 12) {
		w.counts["long value"]++
		return fmt.Appendf(nil, "%q", strings.Repeat("long ", 200+w.rng.IntN(1000)))
	}
	return fmt.Appendf(nil, "%d", w.rng.IntN(4))
}

// unheard is the list's name for a person who has not heard yet what is refused.
const unheard = "?"

// handOver logs in another of a phone's people. What the previous one left waits for their log-in.
func (p *phone) handOver(user string) {
	if p.user == user {
		return
	}
	p.w.counts["handed over"]++
	p.user, p.disk.refused = user, unheard
}

// waits returns the places in the outbox of what goes out under the present log-in.
func (p *phone) waits() (own []int) {
	for _, at := range p.disk.outbox {
		if p.disk.own[at].Author == p.user || p.w.planted == "a phone sends what another person wrote" {
			own = append(own, at)
		}
	}
	return own
}

// sync makes one request and handles the reply.
func (p *phone) sync() {
	w := p.w
	if p.disk.back >= 0 {
		p.giveBack()
		return
	}
	if p.disk.offer >= 0 {
		p.offerMore()
	}
	d := &p.disk
	q := link.Request{
		Store: d.place.Store, Epoch: d.place.Epoch, Root: d.place.Root, Cursor: d.place.Cursor,
		Device: d.device, Nonce: w.id(), Limit: 1 + w.rng.IntN(40), Refused: &d.refused,
		Protocol: link.Protocol,
	}
	if p.old {
		q.Refused, q.Protocol = nil, 0
	}
	waits := p.waits()
	sent := waits[:min(len(waits), 1+w.rng.IntN(20))]
	for _, at := range sent {
		q.Changes = append(q.Changes, link.Sent{Bytes: d.own[at].Bytes()})
	}
	var beside *link.Request // sent before the answer to the first
	if next := waits[len(sent):]; len(next) > 0 && !p.old && w.chance(1, 2) {
		one := q
		one.Nonce, one.Limit, one.Lane, one.After, one.Changes = w.id(), 1, 1, q.Nonce, nil
		for _, at := range next[:min(len(next), 1+w.rng.IntN(20))] {
			one.Changes = append(one.Changes, link.Sent{Bytes: d.own[at].Bytes()})
		}
		beside = &one
		w.counts["two pieces at once"]++
	}
	if w.planted == "the outbox is emptied on sending" {
		d.outbox = slices.DeleteFunc(d.outbox, func(at int) bool { return slices.Contains(sent, at) })
	}
	reply, ok := w.carry(p.node, p, q.Bytes())
	var other []byte
	if beside != nil {
		other, _ = w.carry(p.node, p, beside.Bytes())
	}
	if !ok {
		return
	}
	if w.faults && w.chance(1, 40) {
		return // the page is killed before it has read the reply
	}
	r, err := link.ReadResponse(reply, &q)
	if w.planted == "any reply is taken" && err != nil {
		r, err = link.ReadResponse(reply, &link.Request{Nonce: "portal"})
	}
	if err != nil {
		return
	}
	if beside != nil {
		two, err := link.ReadResponse(other, beside)
		switch {
		case err == nil:
			r.Acknowledged = append(r.Acknowledged, two.Acknowledged...)
			r.Quarantined = append(r.Quarantined, two.Quarantined...)
		case w.planted == "the second piece goes with the first":
			for i := range beside.Changes {
				one, err := change.Parse(beside.Changes[i].Bytes)
				if err != nil {
					w.fail("%s wrote what cannot be read: %v", p.name, err)
				}
				r.Acknowledged = append(r.Acknowledged, one.ID)
			}
		}
	}
	p.take(&r)
}

func (p *phone) offerMore() {
	d := &p.disk
	for n := 0; d.offer >= 0 && n < 10; n++ {
		if d.offer >= len(d.own) {
			d.offer = -1
			break
		}
		if k, waits := slices.BinarySearch(d.outbox, d.offer); !waits {
			d.outbox = slices.Insert(d.outbox, k, d.offer)
		}
		d.offer++
	}
}

// giveBack offers the next group that an office or hub sent before an older copy of it was
// restored.
func (p *phone) giveBack() {
	w, d := p.w, &p.disk
	if d.back >= d.backTo || w.planted == "what was given is not offered" {
		d.back = -1
		return
	}
	q := link.Request{
		Store: d.place.Store, Epoch: d.place.Epoch, Root: d.place.Root, Cursor: d.place.Cursor,
		Device: d.device, Nonce: w.id(), Limit: 1, Protocol: link.Protocol, Back: d.given[d.back : d.back+1],
	}
	reply, ok := w.carry(p.node, p, q.Bytes())
	if !ok {
		return
	}
	r, err := link.ReadResponse(reply, &q)
	if err != nil {
		return
	}
	if r.Again {
		p.take(&r)
		return
	}
	for _, one := range d.given[d.back].Changes {
		if !slices.Contains(r.Acknowledged, one.ID) &&
			!slices.ContainsFunc(r.Quarantined, func(h link.Held) bool { return h.ID == one.ID }) {
			w.fail("%s brought back change %s and heard nothing of it", p.name, one.ID)
		}
	}
	w.counts["brought back"]++
	d.back++
}

// keepGiven keeps what a reply sent, as it came.
func (p *phone) keepGiven(r *link.Response) {
	if p.old || len(r.Changes) == 0 {
		return
	}
	b := link.Back{Given: r.Given}
	for i := range r.Changes {
		b.Changes = append(b.Changes, link.Sent{ID: r.Changes[i].ID, Bytes: r.Changes[i].Bytes()})
		p.w.held[r.Changes[i].ID] = !p.w.unproven[r.Changes[i].ID]
	}
	p.disk.given = append(p.disk.given, b)
}

func (p *phone) take(r *link.Response) {
	w, d := p.w, &p.disk
	if d.place.Store != "" && (r.Again || r.Store != d.place.Store || r.Epoch != d.place.Epoch) {
		d.place = link.Response{Store: r.Store, Epoch: r.Epoch}
		d.offer, d.back, d.backTo = 0, 0, len(d.given)
		p.rebuild()
		if w.planted != "photos are not offered again" {
			d.photos = slices.Clone(d.album)
		}
		return
	}
	place := link.Response{Store: r.Store, Epoch: r.Epoch, Root: r.Root, Cursor: r.Cursor}
	if w.planted == "the cursor is written before the records" && len(r.Changes) > 0 && w.chance(1, 5) {
		d.place = place
		return // killed between the two
	}
	count := d.count
	merged := map[string]merge.State{}
	var order []string
	for i := range r.Changes {
		c := &r.Changes[i]
		was, seen := merged[c.Record]
		if !seen {
			was = d.records[c.Record]
			order = append(order, c.Record)
		}
		next, err := merge.Apply(was, *c)
		if err != nil {
			w.fail("%s cannot take change %s: %v", p.name, c.ID, err)
			return
		}
		merged[c.Record] = next
		count = max(count, c.Stamp.Count)
	}
	if w.faults && w.chance(1, 40) || p.refusedByQuota() {
		return // killed before the write, or refused
	}
	answered := map[string]bool{}
	for _, id := range r.Acknowledged {
		answered[id] = true
		delete(d.aside, id)
	}
	for _, h := range r.Quarantined {
		answered[h.ID] = true
		d.aside[h.ID] = true
	}
	if r.News {
		d.refused = r.Refused
		named := map[string]bool{}
		for _, h := range r.Refusals {
			named[h.ID] = true
		}
		whole := len(r.Refusals) < link.MaxRefusals
		for i := range d.own { // what is no longer on this person's list is no longer refused
			id := d.own[i].ID
			if d.own[i].Author == p.user && !named[id] && (d.listed[id] || whole && !answered[id]) {
				delete(d.aside, id)
				delete(d.listed, id)
			}
		}
		maps.Copy(d.listed, named)
	}
	for _, h := range r.Quarantined {
		if !d.listed[h.ID] {
			d.refused = unheard // it was quarantined after the list was made: the next list says what became of it
		}
	}
	for i := range r.Changes { // the office has it, from whatever sender
		delete(d.aside, r.Changes[i].ID)
		delete(d.listed, r.Changes[i].ID)
	}
	d.outbox = slices.DeleteFunc(d.outbox, func(at int) bool { return answered[d.own[at].ID] })
	p.keepGiven(r)
	if !r.More && d.back < 0 { // everything has been sent again by now
		d.given, d.backTo = d.given[d.backTo:], 0
	}
	d.place, d.count = place, count
	for _, id := range order {
		d.put(merged[id])
	}
	for i := range r.Changes {
		d.known[r.Changes[i].ID] = true
	}
	p.erase(r.Changes)
}

// rebuild makes a phone's records from its own changes: what a restored office has lost and nobody
// brings back is gone.
func (p *phone) rebuild() {
	d := &p.disk
	if p.w.planted == "a phone keeps what a restored office has lost" {
		return
	}
	d.records, d.ids, d.known = map[string]merge.State{}, nil, map[string]bool{}
	for i := range d.own {
		c := &d.own[i]
		next, err := merge.Apply(d.records[c.Record], *c)
		if err != nil {
			p.w.fail("%s cannot make %s again: %v", p.name, c.Record, err)
			return
		}
		d.put(next)
		d.known[c.ID] = true
	}
}

// lookAtRefusals compares what a phone knows of its own refused changes with what the office has.
func (p *phone) lookAtRefusals(office map[string]bool) {
	for i := range p.disk.own {
		c := &p.disk.own[i]
		aside := p.disk.aside[c.ID] || p.disk.listed[c.ID]
		// An old program learns it from what it receives, and an ended account receives nothing.
		cannotKnow := p.old && p.w.revoked[c.Author]
		if aside && office[c.ID] && p.inScope(c.Record) && !cannotKnow {
			p.w.fail("%s takes change %s for refused, and the office has it", p.name, c.ID)
		}
		if !aside && !p.old && !office[c.ID] && p.w.kept[c.ID] != nil && !p.w.lost[c.ID] {
			p.w.fail("%s does not know that the office does not take change %s", p.name, c.ID)
		}
	}
}
