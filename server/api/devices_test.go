package api_test

import (
	"bytes"
	"fmt"
	"slices"
	"testing"
	"time"
)

type devicesReply struct {
	Version string
	Devices []struct {
		ID, User, Name, Last, Store, Version, Oldest, Twin string
		Waiting, Photos                                    int
		Offset                                             int64 `json:"offset_ms"`
		Behind                                             uint64
		Reports                                            bool
		Warnings                                           []string
	}
}

// TestDevicesAreKnown checks that the office sees who exchanged last, the state of each device, and
// what needs attention, also after a restart.
func TestDevicesAreKnown(t *testing.T) {
	p := newPlant(t)
	p.put("n1", "instrument", "", field{"tag", "PI-1"})
	ask := func(who, device, more string) {
		t.Helper()
		body := fmt.Sprintf(
			`{"store":%q,"epoch":%q,"cursor":0,"nonce":"n%s","device":%q,"changes":[]%s}`,
			p.store.StoreID(), p.store.Epoch(), device, device, more,
		)
		if a := p.do(who, "POST", "/api/sync", body); a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	about := func(wall time.Time, version string, waiting int, oldest time.Time) string {
		return fmt.Sprintf(
			`,"about":{"wall":%q,"version":%q,"waiting":%d,"photos":2,"oldest":%q,"colour":"later"}`,
			wall.Format(time.RFC3339Nano), version, waiting, oldest.Format(time.RFC3339),
		)
	}
	ask("technician", "dsame", about(p.now.Add(time.Second), "AB", 0, p.now))
	ask("reviewer", "d0ff", about(p.now.Add(-125*time.Second), "AB", 3, p.now.Add(-73*time.Hour)))
	ask("technician", "d0d", about(p.now, "ZZ", 1, p.now))
	ask("technician", "dqv1et", "")
	check := func(want map[string][]string) {
		t.Helper()
		var r devicesReply
		p.ask("reviewer", "/api/office/devices", &r)
		if len(r.Devices) != len(want) || r.Version != "AB" {
			t.Fatalf("%+v", r)
		}
		for _, d := range r.Devices {
			if !slices.Equal(d.Warnings, want[d.ID]) || d.Last == "" || d.Behind != 1 || d.Reports != (d.ID != "dqv1et") {
				t.Errorf("%+v, want warnings %v", d, want[d.ID])
			}
			if d.ID == "d0ff" &&
				(d.Waiting != 3 || d.Photos != 2 || d.Offset != -125_000 || d.Name != "reviewer" || d.Oldest == "") {
				t.Errorf("%+v", d)
			}
		}
	}
	check(map[string][]string{"dsame": {}, "d0ff": {"old", "clock"}, "d0d": {"version"}, "dqv1et": {}})
	ask("technician", "dnew", fmt.Sprintf(`,"about":{"wall":%q,"was":"dsame"}`, p.now.Format(time.RFC3339Nano)))
	check(
		map[string][]string{"dsame": {"twin"}, "d0ff": {"old", "clock"}, "d0d": {"version"}, "dqv1et": {}, "dnew": {}},
	)
	p.handler = p.open()
	if a := p.do("administrator", "POST", "/api/users/"+id("technician")+"/revoke", ""); a.status != 204 {
		t.Fatal(a.status)
	}
	check(
		map[string][]string{
			"dsame": {"twin", "revoked"}, "d0ff": {"old", "clock"}, "d0d": {"version", "revoked"},
			"dqv1et": {"revoked"}, "dnew": {"revoked"},
		},
	)
	for who, want := range map[string]int{"": 401, "technician": 403, "administrator": 200} {
		if a := p.do(who, "GET", "/api/office/devices", ""); a.status != want {
			t.Errorf("as %q: %d, want %d", who, a.status, want)
		}
	}
}

// TestALateRepeatIsNobodysTwin: a request that a network brings once more, long after its device went
// on, is no second device.
func TestALateRepeatIsNobodysTwin(t *testing.T) {
	p := newPlant(t)
	ask := func(last, nonce string) (twin bool) {
		t.Helper()
		a := p.do(
			"technician", "POST", "/api/sync",
			fmt.Sprintf(`{"store":"","cursor":0,"nonce":%q,"last":%q,"device":"d1","changes":[]}`, nonce, last),
		)
		if a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return bytes.Contains(a.body, []byte(`"twin":true`))
	}
	for n := range 100 {
		if ask(fmt.Sprintf("c%d", n), fmt.Sprintf("c%d", n+1)) {
			t.Fatalf("step %d", n)
		}
	}
	if ask("c2", "c3") || ask("c100", "e1") {
		t.Error("a request that came late was taken for another device")
	}
	var r devicesReply
	p.ask("reviewer", "/api/office/devices", &r)
	if len(r.Devices) != 1 || slices.Contains(r.Devices[0].Warnings, "twin") {
		t.Errorf("%+v", r)
	}
	if !ask("c2", "e2") {
		t.Error("a copy of an old profile is not seen")
	}
}

// TestTwinsAreToldApart: one device that loses replies, asks again or finds the server restarted is
// nobody's twin; two that go on from the same reply are, and only one of them hears of it.
func TestTwinsAreToldApart(t *testing.T) {
	p := newPlant(t)
	ask := func(last, nonce string) (twin bool) {
		t.Helper()
		a := p.do(
			"technician", "POST", "/api/sync",
			fmt.Sprintf(`{"store":"","cursor":0,"nonce":%q,"last":%q,"device":"d1","changes":[]}`, nonce, last),
		)
		if a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return bytes.Contains(a.body, []byte(`"twin":true`))
	}
	for _, step := range []struct {
		what, last, nonce string
		twin              bool
	}{
		{"the first", "", "a1", false},
		{"its reply was lost", "", "a2", false},
		{"the next", "a2", "a3", false},
		{"lost again", "a2", "a4", false},
		{"and again", "a2", "a5", false},
		{"the one after", "a4", "a6", false},
		{"the copy goes on from an older reply", "a2", "b1", false},
		{"this one goes on", "a6", "a7", false},
		{"the copy took a reply of its own", "b1", "b2", true},
		{"and is told again", "b1", "b3", true},
		{"the other is left in peace", "a7", "a8", false},
		{"a reply nobody gave", "z9", "b4", true},
		{"still left in peace", "a8", "a9", false},
	} {
		if got := ask(step.last, step.nonce); got != step.twin {
			t.Errorf("%s: twin %v", step.what, got)
		}
	}
	for n := range 40 { // more than is remembered
		last := "a9"
		if n > 0 {
			last = fmt.Sprintf("c%d", n-1)
		}
		if ask(last, fmt.Sprintf("c%d", n)) {
			t.Fatalf("step %d", n)
		}
	}
	p.handler = p.open()
	if ask("c39", "e1") || ask("c39", "e2") || ask("e2", "e3") {
		t.Error("a restarted server took a device for its own twin")
	}
	var r devicesReply
	p.ask("reviewer", "/api/office/devices", &r)
	if len(r.Devices) != 1 || !slices.Contains(r.Devices[0].Warnings, "twin") {
		t.Errorf("%+v", r)
	}
}
