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

// disk is all that a phone keeps. What belongs together is written together or not at all, as a transaction of the phone's database does.
type disk struct {
	device     string
	seq, count uint64
	own        []change.Change // in the order they were made
	aside      map[string]bool // of those, which the office set aside
	outbox     []int           // places in own
	records    map[string]merge.State
	ids        []string        // of the records, as they came
	album      []string        // photos taken here
	photos     []string        // of those, which wait to be sent
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
	c.ids, c.album, c.photos = slices.Clone(d.ids), slices.Clone(d.album), slices.Clone(d.photos)
	c.aside, c.records, c.known = maps.Clone(d.aside), maps.Clone(d.records), maps.Clone(d.known)
	return c
}

func (d *disk) put(s merge.State) {
	if _, known := d.records[s.ID]; !known {
		d.ids = append(d.ids, s.ID)
	}
	d.records[s.ID] = s
}

// inScope says which records a phone holds.
func (p *phone) inScope(record string) bool { return !p.narrow || p.w.even[record] }

// edit changes one or two fields of a record, most often of one that it knows.
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
		in.Set = append(in.Set, change.Setting{Field: fmt.Sprintf("f%d", f), Value: fmt.Appendf(nil, "%d", w.rng.IntN(4))})
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

func (p *phone) take(r *link.Response) {
	w, d := p.w, &p.disk
	if d.place.Store != "" && (r.Again || r.Store != d.place.Store || r.Epoch != d.place.Epoch) {
		d.place = link.Response{Store: r.Store, Epoch: r.Epoch}
		d.offer = 0
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
	d.outbox = slices.DeleteFunc(d.outbox, func(at int) bool { return answered[d.own[at].ID] })
	d.place, d.count = place, count
	for _, id := range order {
		d.put(merged[id])
	}
	for i := range r.Changes {
		d.known[r.Changes[i].ID] = true
	}
}
