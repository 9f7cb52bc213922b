package api

import (
	"cmp"
	"encoding/json"
	"fmt"
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
	// keepEvery is how often what is known of a device goes to the disk: an idle request must not wait
	// for it.
	keepEvery = 5 * time.Minute
	// maxReplies is how many replies of a device are remembered; one that was not taken is asked for
	// again right away.
	maxReplies = 16
	// maxDevices bounds the memory; the ones not heard of for longest are forgotten first.
	maxDevices = 5000

	silentAfter = 3 * 24 * time.Hour
	clockOff    = 2 * time.Minute
	twinShown   = 30 * 24 * time.Hour
)

// device is what the office knows of a phone, a browser or a hub that exchanged with it. It is the
// office's own note, not a record.
type device struct {
	ID   string `json:"id"`
	User string `json:"user"` // id
	// Users are the accounts that the device has shown to be its own, Browsers those that their
	// log-ins were of: the latest ones last. A shared phone has several.
	Users    []string `json:"users,omitempty"`
	Browsers []string `json:"browsers,omitempty"`
	Hub      bool     `json:"hub"`
	Last     string   `json:"last"` // the latest exchange, RFC 3339
	Store    string   `json:"store"`
	Cursor   uint64   `json:"cursor"`
	Version  string   `json:"version"`
	Told     bool     `json:"told"` // it reports its state; what follows is known
	Offset   int64    `json:"offset_ms"`
	Waiting  int      `json:"waiting"`
	Photos   int      `json:"photos"`
	Oldest   string   `json:"oldest"`
	Was      string   `json:"was"`  // the id that it went by before it met a copy of itself; "" for none
	Twin     string   `json:"twin"` // when somebody else was seen with its id; "" for never
}

// devices keeps the notes, and distinguishes two that use the same id.
type devices struct {
	notes store.Private
	now   func() time.Time

	mu     sync.Mutex
	loaded bool
	known  map[string]*device
	kept   map[string]time.Time // when a note last went to the disk
	chains map[string]*chain
}

func newDevices(s *store.Store, now func() time.Time) *devices {
	return &devices{
		notes: s.Private("devices"), now: now, known: map[string]*device{}, kept: map[string]time.Time{},
		chains: map[string]*chain{},
	}
}

// chain is which reply a device had taken when it asked for the next one. One device goes on from
// one reply only: where two replies to the same one have both been taken, there are two devices.
type chain struct {
	order  []string
	before map[string]string // by nonce: the one it was asked after
	taken  map[string]string // by nonce: the reply after it that was taken
}

// noReply is used before the first reply that is remembered; it is no nonce.
const noReply = " "

// twin adds a request and says whether it is that of somebody else with the same id; then it is not
// added.
func (k *chain) twin(last, nonce string) bool {
	parent, known := k.before[last]
	switch {
	case !known && len(k.order) > 0:
		return true
	case !known:
		k.before[last], k.order = noReply, []string{last}
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

func (d *devices) load() error {
	if d.loaded {
		return nil
	}
	err := d.notes.Each(func(id string, v []byte) error {
		var one device
		if err := json.Unmarshal(v, &one); err != nil {
			return err
		}
		d.known[id] = &one
		return nil
	})
	if err != nil {
		return fmt.Errorf("what is known of the devices is damaged: %w", err)
	}
	d.loaded = true
	return nil
}

// maxOwners is how many accounts, and how many browsers, of a device are remembered.
const maxOwners = 32

// strange says whether a device is others' than a user's: it is theirs who wrote with it or asked
// for news with it before, and of whoever logs in in the same browser. by are the accounts that
// wrote with it.
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

// owned adds somebody to a list of owners, and says whether that is new.
func owned(list []string, id string) ([]string, bool) {
	if id == "" || slices.Contains(list, id) {
		return list, false
	}
	list = append(list, id)
	return list[max(0, len(list)-maxOwners):], true
}

// met notes a request and says whether the device has to take another id: it has a twin, or the id
// is that of others' device. by are the accounts that wrote with it.
func (d *devices) met(q *link.Request, u auth.User, by []string) (twin bool, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.load(); err != nil {
		return false, err
	}
	now := d.now()
	if d.isStrange(q.Device, u, by) {
		return true, nil // and nothing is noted of whose it is
	}
	one, known := d.known[q.Device]
	if !known {
		one = &device{ID: q.Device}
		d.known[q.Device] = one
	}
	was := *one
	if q.Last != nil {
		if d.chains[q.Device] == nil {
			d.chains[q.Device] = &chain{before: map[string]string{}, taken: map[string]string{}}
		}
		if twin = d.chains[q.Device].twin(*q.Last, q.Nonce); twin {
			one.Twin = now.UTC().Format(time.RFC3339)
		}
	}
	one.Users, _ = owned(one.Users, was.User) // of a note that has the latest account only
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
			// A device that found its own copy out says so; the one that kept the id is shown.
			if other := d.known[one.Was]; other != nil && other.Twin == "" {
				other.Twin = now.UTC().Format(time.RFC3339)
				if err := d.keep(other, now); err != nil {
					return twin, err
				}
			}
		}
		if wall, err := time.Parse(time.RFC3339, a.Wall); err == nil {
			one.Told, one.Offset = true, wall.Sub(now).Milliseconds()
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
	// Others go on meanwhile, so that the notes of many devices that come at once share their syncs.
	d.kept[one.ID] = now
	d.mu.Unlock()
	err = d.notes.Batch(put, gone)
	d.mu.Lock()
	if err != nil {
		delete(d.kept, one.ID)
	}
	return err
}

// short cuts what a device calls something.
func short(s string) string {
	const most = 64
	return s[:min(len(s), most)]
}

// list returns all devices, those heard of last first.
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

// deviceRow is a device in a list: its note with what needs an eye.
type deviceRow struct {
	device
	Name     string   `json:"name"`
	Revoked  bool     `json:"revoked"`
	Behind   uint64   `json:"behind"`   // journal entries that it has not been given
	Missing  uint64   `json:"missing"`  // changes that the device counted and that did not come
	Twice    uint64   `json:"twice"`    // numbers that more than one change of the device has
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
	add(r.Told && (r.Offset > clockOff.Milliseconds() || r.Offset < -clockOff.Milliseconds()), "clock")
	add(r.Version != "" && s.build != "" && r.Version != s.build, "version")
	add(r.Store != "" && r.Store != s.Store.StoreID(), "another_store")
	add(r.Revoked, "revoked")
	return list
}

// mainScript finds the name of the client's program in its page; the hash in it is the program's
// version.
var mainScript = regexp.MustCompile(`/assets/main-([0-9A-Z]+)\.js`)

// buildOf returns the version of the client that is served, or "".
func buildOf(page []byte) string {
	if m := mainScript.FindSubmatch(page); m != nil {
		return string(m[1])
	}
	return ""
}
