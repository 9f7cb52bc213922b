package world

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/merge"
)

// disk is all that a phone keeps. It is replaced as a whole, as a transaction of the phone's database does.
type disk struct {
	device     string
	seq, count uint64
	own        []change.Change // in the order they were made
	aside      map[string]bool // of those, which the office set aside
	outbox     []int           // places in own
	records    map[string]merge.State
	known      map[string]bool // changes that are in records; for the check of what a writer saw
	place      link.Response   // Store, Epoch, Root and Cursor
	offer      int             // while everything is offered again: the next place in own; else −1
}

type phone struct {
	w       *world
	name    string
	user    string
	node    *node // whom it talks to
	disk    disk
	ahead   time.Duration // of its wall clock
	narrow  bool          // holds the even records only
	revoked bool
	online  bool
}

func (w *world) newDisk() disk {
	return disk{device: w.id(), aside: map[string]bool{}, records: map[string]merge.State{}, known: map[string]bool{}, offer: -1}
}

func (d *disk) clone() disk {
	c := *d
	c.own, c.outbox = slices.Clone(d.own), slices.Clone(d.outbox)
	c.aside, c.records, c.known = maps.Clone(d.aside), maps.Clone(d.records), maps.Clone(d.known)
	return c
}

// inScope says which records a phone holds.
func (p *phone) inScope(record string) bool { return !p.narrow || p.w.even[record] }

// edit changes one or two fields of a record, most often of one that it knows.
func (p *phone) edit() {
	w := p.w
	var state merge.State
	record := ""
	if len(p.disk.records) > 0 && w.chance(4, 5) {
		ids := slices.Sorted(maps.Keys(p.disk.records))
		record = ids[w.rng.IntN(len(ids))]
		state = p.disk.records[record]
	} else {
		record = w.id()
		w.even[record] = w.chance(1, 2)
	}
	wall := time.UnixMilli(w.now).Add(p.ahead).UTC()
	in := merge.Intent{Record: record, Kind: "visit", Device: p.disk.device, Seq: p.disk.seq + 1, Author: p.user,
		Wall: wall.Format("2006-01-02T15:04:05.000Z"), WallMS: wall.UnixMilli(), Count: p.disk.count, ChangeID: w.id()}
	for _, f := range w.rng.Perm(3)[:1+w.rng.IntN(2)] {
		in.Set = append(in.Set, change.Setting{Field: fmt.Sprintf("f%d", f), Value: fmt.Appendf(nil, "%d", w.rng.IntN(4))})
	}
	c, next, err := merge.Draft(state, in)
	if err != nil {
		w.fail("%s could not write: %v", p.name, err)
		return
	}
	w.wrote(&c, &p.disk)
	d := p.disk.clone()
	d.seq, d.count = c.Seq, c.Stamp.Count
	d.records[record], d.known[c.ID] = next, true
	if w.planted == "record and outbox are written apart" && w.chance(1, 10) {
		d.seq++ // the page was killed between the two
		p.disk = d
		return
	}
	d.own = append(d.own, c)
	d.outbox = append(d.outbox, len(d.own)-1)
	if w.chance(1, 25) {
		return // killed before the write: nobody was told that it was kept
	}
	p.disk = d
	w.kept[c.ID] = p
}

// sync is one request and what comes of it.
func (p *phone) sync() {
	w := p.w
	if p.disk.offer >= 0 {
		p.offerMore()
	}
	d := &p.disk
	q := link.Request{Store: d.place.Store, Epoch: d.place.Epoch, Root: d.place.Root, Cursor: d.place.Cursor, Device: d.device, Nonce: w.id(), Limit: 1 + w.rng.IntN(40)}
	sent := slices.Clone(d.outbox[:min(len(d.outbox), 1+w.rng.IntN(20))])
	for _, at := range sent {
		q.Changes = append(q.Changes, link.Sent{Bytes: d.own[at].Bytes()})
	}
	if w.planted == "the outbox is emptied on sending" {
		d.outbox = d.outbox[len(sent):]
	}
	reply, ok := w.carry(p.node, p, q.Bytes())
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
	p.take(&r, d)
}

func (p *phone) offerMore() {
	d := p.disk.clone()
	for n := 0; d.offer >= 0 && n < 10; n++ {
		if d.offer >= len(d.own) {
			d.offer = -1
			break
		}
		if !slices.Contains(d.outbox, d.offer) {
			d.outbox = append(d.outbox, d.offer)
		}
		d.offer++
	}
	slices.Sort(d.outbox)
	p.disk = d
}

func (p *phone) take(r *link.Response, was *disk) {
	w := p.w
	d := was.clone()
	if was.place.Store != "" && (r.Again || r.Store != was.place.Store || r.Epoch != was.place.Epoch) {
		d.place = link.Response{Store: r.Store, Epoch: r.Epoch}
		d.offer = 0
		p.disk = d
		return
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
	d.outbox = slices.DeleteFunc(d.outbox, func(at int) bool { return answered[d.own[at].ID] })
	d.place = link.Response{Store: r.Store, Epoch: r.Epoch, Root: r.Root, Cursor: r.Cursor}
	if w.planted == "the cursor is written before the records" && len(r.Changes) > 0 && w.chance(1, 5) {
		p.disk.place = d.place
		return // killed between the two
	}
	for i := range r.Changes {
		c := &r.Changes[i]
		next, err := merge.Apply(d.records[c.Record], *c)
		if err != nil {
			w.fail("%s cannot take change %s: %v", p.name, c.ID, err)
			return
		}
		d.records[c.Record], d.known[c.ID] = next, true
		d.count = max(d.count, c.Stamp.Count)
	}
	if w.faults && w.chance(1, 40) {
		return // killed before the write
	}
	p.disk = d
}
