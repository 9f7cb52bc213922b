package api

import (
	"cmp"
	"encoding/json"
	"fmt"
	"hash/maphash"
	"net/http"
	"regexp"
	"slices"
	"sync"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/sync/link"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

const (
	// keepEvery is how often the note on a device is written to disk: an idle request must not wait
	// for it.
	keepEvery = 5 * time.Minute
	// maxReplies is how many replies of a device are remembered. A device that lost a reply asks
	// again right away.
	maxReplies = 16
	// maxAsked is how many requests of a device are known again when a network brings one twice.
	maxAsked = 256
	// maxDevices bounds the memory; the ones not heard of for longest are forgotten first.
	maxDevices = 5000

	silentAfter = 3 * 24 * time.Hour
	clockOff    = 2 * time.Minute
	twinShown   = 30 * 24 * time.Hour
)

// device is the office's note on a phone, a browser or a hub that exchanged with it. It is not a
// record.
type device struct {
	ID   string `json:"id"`
	User string `json:"user"` // id
	// Users are the accounts known to own the device, Browsers the browsers of their log-ins, the
	// latest last. A shared phone has several.
	Users    []string `json:"users,omitempty"`
	Browsers []string `json:"browsers,omitempty"`
	Hub      bool     `json:"hub"`
	Last     string   `json:"last"` // the latest exchange, RFC 3339
	Store    string   `json:"store"`
	Cursor   uint64   `json:"cursor"`
	Version  string   `json:"version"`
	Reports  bool     `json:"reports"` // it reports its state, so the following fields are known
	Offset   int64    `json:"offset_ms"`
	Waiting  int      `json:"waiting"`
	Photos   int      `json:"photos"`
	Oldest   string   `json:"oldest"`
	Was      string   `json:"was"`  // its id before it met a copy of itself; "" for none
	Twin     string   `json:"twin"` // when another device was seen with its id; "" for never
}

// devices keeps the notes, and detects two devices with the same id.
type devices struct {
	notes store.Private
	store *store.Store
	now   func() time.Time

	mu     sync.Mutex
	loaded bool
	at     int64             // version of a shared store at which the notes were read
	raw    map[string]string // the notes as read from a shared store
	known  map[string]*device
	kept   map[string]time.Time // when a note last went to the disk
	chains map[string]*[link.Lanes]chain
}

func newDevices(s *store.Store, now func() time.Time) *devices {
	return &devices{
		notes: s.Private("devices"), store: s, now: now, raw: map[string]string{}, known: map[string]*device{},
		kept: map[string]time.Time{}, chains: map[string]*[link.Lanes]chain{},
	}
}

// chain records which reply a device had taken when it asked for the next one. One device continues
// from one reply only: if two replies to the same one have both been taken, two devices share the
// id. A device with two requests under way sends them in two lanes, each with its own chain.
type chain struct {
	order  []string
	before map[string]string // by nonce: the one it was asked after
	taken  map[string]string // by nonce: the reply after it that was taken
	asked  []uint64          // hashes of the latest nonces
}

var nonceSeed = maphash.MakeSeed()

// noReply is used before the first reply that is remembered; it is no nonce.
const noReply = " "

// twin adds a request to the chain. If the request comes from another device with the same id, twin
// returns true and does not add it.
//
// With a shared store another server may have given the last reply, so a reply unknown here proves
// nothing. Two devices with one id are then found only if one server answers both.
func (k *chain) twin(last, nonce string, shared bool) bool {
	one := maphash.String(nonceSeed, nonce)
	if slices.Contains(k.asked, one) {
		return false // a network has brought it once more, perhaps long after the device went on
	}
	k.asked = append(k.asked[max(0, len(k.asked)-maxAsked+1):], one)
	if k.before == nil {
		k.before, k.taken = map[string]string{}, map[string]string{}
	}
	parent, known := k.before[last]
	switch {
	case !known && len(k.order) > 0 && !shared:
		return true
	case !known:
		k.before[last], k.order = noReply, append(k.order, last)
	case parent != noReply:
		if other, was := k.taken[parent]; was && other != last {
			return true
		}
		k.taken[parent] = last
	}
	k.before[nonce], k.order = last, append(k.order, nonce)
	for len(k.order) > maxReplies {
		delete(k.before, k.order[0])
		delete(k.taken, k.order[0])
		k.order = k.order[1:]
	}
	return false
}

// load reads the notes; those of a shared store again if another server wrote since.
func (d *devices) load() error {
	shared := d.store.Shared()
	at, err := d.store.Version()
	if err != nil || d.loaded && (!shared || at == d.at) {
		return err
	}
	err = d.notes.Each(func(id string, v []byte) error {
		if shared && d.raw[id] == string(v) {
			return nil // what is known here may be newer than the note
		}
		var one device
		if err := json.Unmarshal(v, &one); err != nil {
			return err
		}
		d.known[id] = &one
		if shared {
			d.raw[id] = string(v)
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("what is known of the devices is damaged: %w", err)
	}
	d.loaded, d.at = true, at
	return nil
}

// maxOwners is how many accounts, and how many browsers, are remembered for a device.
const maxOwners = 32

// strange reports whether a device belongs to others than a user. It belongs to those who wrote
// with it or listened for news with it before, and to all who log in in the same browser. by are
// the accounts that wrote with it.
func (d *devices) strange(id string, u auth.User, by []string) (bool, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.load(); err != nil {
		return false, err
	}
	return d.isStrange(id, u, by), nil
}

func (d *devices) isStrange(id string, u auth.User, by []string) bool {
	one := d.known[id]
	if one == nil {
		return len(by) > 0 && !slices.Contains(by, u.ID)
	}
	return one.User != u.ID && !slices.Contains(by, u.ID) && !slices.Contains(one.Users, u.ID) &&
		(u.Browser == "" || !slices.Contains(one.Browsers, u.Browser))
}

// owned adds an owner to a list, and reports whether they are new.
func owned(list []string, id string) ([]string, bool) {
	if id == "" || slices.Contains(list, id) {
		return list, false
	}
	list = append(list, id)
	return list[max(0, len(list)-maxOwners):], true
}

// met notes a request and reports whether the device has to take another id, because another device
// has the same or it belongs to other people. by are the accounts that wrote with it.
func (d *devices) met(q *link.Request, u auth.User, by []string) (twin bool, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.load(); err != nil {
		return false, err
	}
	now := d.now()
	if d.isStrange(q.Device, u, by) {
		return true, nil // without noting who used it
	}
	one, known := d.known[q.Device]
	if !known {
		one = &device{ID: q.Device}
		d.known[q.Device] = one
	}
	was := *one
	if q.Last != nil {
		if d.chains[q.Device] == nil {
			d.chains[q.Device] = &[link.Lanes]chain{}
		}
		if twin = d.chains[q.Device][q.Lane].twin(*q.Last, q.Nonce, d.store.Shared()); twin {
			one.Twin = now.UTC().Format(time.RFC3339)
		}
	}
	one.Users, _ = owned(one.Users, was.User) // for a note that has only the latest account
	var user, browser bool
	one.Users, user = owned(one.Users, u.ID)
	one.Browsers, browser = owned(one.Browsers, u.Browser)
	one.User, one.Hub, one.Last = u.ID, u.Role == auth.Hub, now.UTC().Format(time.RFC3339)
	one.Store, one.Cursor = q.Store, q.Cursor
	if a := q.About; a != nil {
		one.Version, one.Oldest = short(a.Version), short(a.Oldest)
		one.Waiting, one.Photos = a.Waiting, a.Photos
		if a.Was != "" && a.Was != one.Was {
			one.Was = short(a.Was)
			// A device that found its own copy reports it; the one that kept the id is shown.
			if other := d.known[one.Was]; other != nil && other.Twin == "" {
				other.Twin = now.UTC().Format(time.RFC3339)
				if err := d.keep(other, now); err != nil {
					return twin, err
				}
			}
		}
		if wall, err := time.Parse(time.RFC3339, a.Wall); err == nil {
			one.Reports, one.Offset = true, wall.Sub(now).Milliseconds()
		}
	}
	same := known && !twin && !user && !browser && was.User == one.User && was.Version == one.Version
	if same && now.Sub(d.kept[q.Device]) < keepEvery {
		return twin, nil
	}
	return twin, d.keep(one, now)
}

func (d *devices) keep(one *device, now time.Time) error {
	put, gone := map[string][]byte{}, []string{}
	b, err := json.Marshal(one)
	if err != nil {
		return err
	}
	put[one.ID] = b
	for len(d.known) > maxDevices {
		oldest := one
		for _, other := range d.known {
			if other.Last < oldest.Last {
				oldest = other
			}
		}
		if oldest == one {
			break
		}
		delete(d.known, oldest.ID)
		delete(d.kept, oldest.ID)
		delete(d.chains, oldest.ID)
		gone = append(gone, oldest.ID)
	}
	// Sync without the lock, so that the notes of many devices that come at once share their syncs.
	d.kept[one.ID] = now
	d.mu.Unlock()
	err = d.notes.Batch(put, gone)
	d.mu.Lock()
	if err != nil {
		delete(d.kept, one.ID)
	}
	return err
}

// short truncates a device's description of itself.
func short(s string) string {
	const most = 64
	return s[:min(len(s), most)]
}

// list returns all devices, the last heard of first.
func (d *devices) list() ([]device, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.load(); err != nil {
		return nil, err
	}
	list := make([]device, 0, len(d.known))
	for _, one := range d.known {
		list = append(list, *one)
	}
	slices.SortFunc(list, func(a, b device) int {
		return cmp.Or(cmp.Compare(b.Last, a.Last), cmp.Compare(a.ID, b.ID))
	})
	return list, nil
}

// deviceRow is a device in a list: its note, and what needs attention.
type deviceRow struct {
	device
	Name     string   `json:"name"`
	Revoked  bool     `json:"revoked"`
	Behind   uint64   `json:"behind"`   // journal entries that it has not received
	Missing  uint64   `json:"missing"`  // changes that the device counted and that did not arrive
	Twice    uint64   `json:"twice"`    // numbers that more than one of its changes has
	Warnings []string `json:"warnings"` // silent clock version twin old revoked another_store gap repeat
}

func (s *server) devicesList(c echo.Context) error {
	list, err := s.devices.list()
	if err != nil {
		return err
	}
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	users, err := s.Keeper.Users()
	if err != nil {
		return err
	}
	revoked := map[string]bool{}
	for _, u := range users {
		revoked[u.ID] = u.Revoked
	}
	last, err := s.Store.Last()
	if err != nil {
		return err
	}
	came, err := s.Store.Came()
	if err != nil {
		return err
	}
	rows := make([]deviceRow, 0, len(list))
	for _, one := range list {
		r := deviceRow{
			device: one, Name: office.Called(names, one.User), Revoked: revoked[one.User], Warnings: []string{},
		}
		if one.Store == s.Store.StoreID() && one.Cursor < last {
			r.Behind = last - one.Cursor
		}
		r.Warnings = append(r.Warnings, s.warnings(&r)...)
		if c := came[one.ID]; c != nil {
			r.Missing, r.Twice = c.Missing().Count(), c.Twice.Count()
		}
		if r.Missing > 0 {
			r.Warnings = append(r.Warnings, "gap")
		}
		if r.Twice > 0 {
			r.Warnings = append(r.Warnings, "repeat")
		}
		rows = append(rows, r)
	}
	return c.JSON(
		http.StatusOK,
		map[string]any{
			"now": s.Now().UTC().Format(time.RFC3339), "version": s.build, "store": s.Store.StoreID(),
			"devices": rows,
		},
	)
}

// warnings names what a person should look at.
func (s *server) warnings(r *deviceRow) (list []string) {
	older := func(moment string, than time.Duration) bool {
		t, err := time.Parse(time.RFC3339, moment)
		return err == nil && s.Now().Sub(t) > than
	}
	add := func(when bool, what string) {
		if when {
			list = append(list, what)
		}
	}
	add(r.Twin != "" && !older(r.Twin, twinShown), "twin")
	add(older(r.Last, silentAfter), "silent")
	add(older(r.Oldest, silentAfter), "old")
	add(r.Reports && (r.Offset > clockOff.Milliseconds() || r.Offset < -clockOff.Milliseconds()), "clock")
	add(r.Version != "" && s.build != "" && r.Version != s.build, "version")
	add(r.Store != "" && r.Store != s.Store.StoreID(), "another_store")
	add(r.Revoked, "revoked")
	return list
}

// mainScript finds the name of the client's program in its page; the hash in the name is the
// version.
var mainScript = regexp.MustCompile(`/assets/main-([0-9A-Z]+)\.js`)

// buildOf returns the version of the served client, or "".
func buildOf(page []byte) string {
	if m := mainScript.FindSubmatch(page); m != nil {
		return string(m[1])
	}
	return ""
}
