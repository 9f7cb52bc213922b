package programme_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"gaugewright/calc/programme"
)

type capture struct {
	Step  string `json:"step"`
	Of    string `json:"of"`
	Value string `json:"value"`
	Unit  string `json:"unit"`
	At    string `json:"at,omitempty"`
}

type done struct {
	Step string `json:"step"`
	At   string `json:"at"`
}

type record struct {
	Programme string    `json:"programme"`
	Captures  []capture `json:"captures"`
	Done      []done    `json:"done"`
	Stopped   string    `json:"stopped,omitempty"`
}

type course struct {
	Error *struct{ Field, Message string }
	Steps []struct {
		ID, Do, Of, As, Name, Unit, Direction, Text, Target string
		Screen, Line                                        int
		Done, Over, Settled                                 bool
		Seconds                                             float64
	}
	Current  []string
	Branches []struct {
		Step, Taken, Reason string
		Line                int
	}
	Flags           []struct{ Step, Code, Message string }
	Ended, Finished bool
	Stop            string
}

func follow(t testing.TB, r record) course {
	t.Helper()
	if r.Captures == nil {
		r.Captures = []capture{}
	}
	if r.Done == nil {
		r.Done = []done{}
	}
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var c course
	for _, d := range programme.Calculations() {
		if d.Name == "follow" {
			if err := json.Unmarshal(d.Run(b, "test"), &c); err != nil {
				t.Fatal(err)
			}
		}
	}
	return c
}

// hand carries out a programme as a person would, one action after another, with given values by
// name; the last value repeats.
type hand struct {
	record
	clock  time.Time
	values map[string][]string
	used   map[string]int
}

func (h *hand) next(name string) string {
	list := h.values[name]
	if len(list) == 0 {
		return "5"
	}
	i := min(h.used[name], len(list)-1)
	h.used[name]++
	return list[i]
}

func (h *hand) now() string { return h.clock.UTC().Format("2006-01-02T15:04:05.000Z") }

// act does the first undone action of the current screen; it returns false when nothing is left.
func (h *hand) act(t testing.TB) bool {
	t.Helper()
	c := follow(t, h.record)
	if c.Error != nil {
		t.Fatal(*c.Error)
	}
	for _, s := range c.Steps {
		if s.Done {
			continue
		}
		h.clock = h.clock.Add(4 * time.Second)
		switch s.Do {
		case "read", "ask", "settle":
			name := s.Name
			if s.Do == "settle" {
				name = "settle"
			} else if name == "" {
				name = s.ID
			}
			of := s.Of
			if s.Do != "read" {
				of = map[string]string{"ask": "answer", "settle": "settle"}[s.Do]
			}
			h.Captures = append(h.Captures, capture{s.ID, of, h.next(name), s.Unit, h.now()})
		default:
			if s.Do == "hold" {
				h.clock = h.clock.Add(time.Duration(s.Seconds) * time.Second)
			}
			h.Done = append(h.Done, done{s.ID, h.now()})
		}
		return true
	}
	if !c.Finished {
		t.Fatalf("nothing is left to do, and it is not finished: %+v", c)
	}
	return false
}

func worker(text string, values map[string][]string) *hand {
	return &hand{
		record: record{Programme: text}, clock: time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC),
		values: values, used: map[string]int{},
	}
}

const story = `unit bar gauge
set 5
hold 60 s
repeat until abs(p2 - p1) < 0.2, at most 3 {
  read p1 from gauge
  read p2 from gauge 2 times
} else {
  vent
  stop "does not come to rest"
}
settle within 0.05 for 8 s, at most 60 s
if p2 > 5.1 and not p1 < 4 {
  ask "Look again?" as yes into again
  if again {
    read p3 from standard
  }
} else {
  note "fine"
}
ramp 6 at 0.1/s until contact else {
  note "no contact"
}
vent
`

var storyValues = map[string][]string{
	"p1": {"4.9", "5.1"}, "p2": {"5.2", "5.2", "5.15"}, "again": {"yes"}, "p3": {"5.11"}, "settle": {"5", "5.3", "5.2", "5.21", "5.2"}, "l22.1.met": {"no"}, "l21.1.met": {"no"}, "l20.1.met": {"no"},
}

// TestFollowGivesReasons checks the branches taken and their reasons in words.
func TestFollowGivesReasons(t *testing.T) {
	h := worker(story, storyValues)
	for h.act(t) {
	}
	c := follow(t, h.record)
	var got []string
	for _, b := range c.Branches {
		got = append(got, fmt.Sprintf("%s %s: %s", b.Step, b.Taken, b.Reason))
	}
	want := []string{
		"l4.1 again: abs(p2 - p1) = 0.3 is not below 0.2",
		"l4.2 met: abs(p2 - p1) = 0.05 is below 0.2",
		"l11.1 met: all values of 8 s lie within 0.1",
		"l12.1 then: p2 = 5.15 is above 5.1, and p1 = 5.1 is not below 4",
		"l14.1 then: again is yes",
		"l20.1 else: the contact did not operate up to 6",
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if len(c.Flags) != 0 || c.Stop != "" || !c.Ended {
		t.Errorf("%+v", c)
	}
}

// TestFollowAfterAnyInterruption: whatever state is lost between two actions, a run ends with the
// same captures; the result for a record does not depend on how the record came about. Clocks that
// jump are reported and change nothing else.
func TestFollowAfterAnyInterruption(t *testing.T) {
	whole := worker(story, storyValues)
	actions := 0
	for whole.act(t) {
		actions++
	}
	plain := func(h *hand) []string {
		var list []string
		for _, c := range h.Captures {
			list = append(list, c.Step+" "+c.Of+" "+c.Value+" "+c.Unit)
		}
		for _, d := range h.Done {
			list = append(list, "done "+d.Step)
		}
		return list
	}
	want := plain(whole)
	if actions < 18 {
		t.Fatalf("only %d actions", actions)
	}
	for cut := range actions {
		for _, jump := range []time.Duration{0, -time.Hour, time.Hour} {
			h := worker(story, storyValues)
			for range cut {
				h.act(t)
			}
			// a reload: nothing is left but the record, read again from its JSON
			b, err := json.Marshal(h.record)
			if err != nil {
				t.Fatal(err)
			}
			again := worker(story, storyValues)
			again.record = record{}
			if err := json.Unmarshal(b, &again.record); err != nil {
				t.Fatal(err)
			}
			again.clock, again.used = h.clock.Add(jump), h.used
			inSettle := false
			for _, c := range again.Captures {
				inSettle = inSettle || c.Of == "settle"
			}
			for n := 0; again.act(t); n++ {
				if n > 3*actions {
					t.Fatal("no end after a cut at ", cut)
				}
			}
			got := plain(again)
			c := follow(t, again.record)
			if inSettle && jump != 0 { // a stretch at rest does not extend over the jump: only the number of readings may differ
				got, want := without(got, "settle"), without(want, "settle")
				if !reflect.DeepEqual(got, want) {
					t.Errorf("cut at %d, clock by %v: %v\nwant %v", cut, jump, got, want)
				}
			} else if !reflect.DeepEqual(got, want) {
				t.Errorf("cut at %d, clock by %v: %v\nwant %v", cut, jump, got, want)
			}
			flagged := false
			for _, f := range c.Flags {
				flagged = flagged || f.Code == "clock"
			}
			if flagged != (jump < 0 && cut > 0) {
				t.Errorf("cut at %d, clock by %v: flags %+v", cut, jump, c.Flags)
			}
		}
	}
}

func without(list []string, part string) []string {
	var kept []string
	for _, s := range list {
		if !strings.Contains(s, part) && !strings.Contains(s, " l11.1") {
			kept = append(kept, s)
		}
	}
	return kept
}

// TestFollowStopsVented: a stop at any moment, and a no where a yes is needed, lead to a vent.
func TestFollowStopsVented(t *testing.T) {
	h := worker(story, storyValues)
	for n := 0; ; n++ {
		r := h.record
		r.Stopped = "the hose leaks"
		c := follow(t, r)
		last := c.Steps[len(c.Steps)-1]
		if last.Do != "vent" || last.ID != "stop.vent" || !c.Ended || c.Finished || len(c.Current) != 1 ||
			c.Stop != "the hose leaks" {
			t.Fatalf("stopped after %d: %+v", n, c)
		}
		r.Done = append(append([]done(nil), r.Done...), done{"stop.vent", h.now()})
		if c := follow(t, r); !c.Finished || len(c.Current) != 0 {
			t.Fatalf("vented after %d: %+v", n, c)
		}
		if !h.act(t) {
			break
		}
	}
	h = worker(
		"unit bar gauge\nset 2\nask \"Is the guard on?\" as yes\nset 8\nvent\n",
		map[string][]string{"l3.1": {"no"}},
	)
	for h.act(t) {
	}
	c := follow(t, h.record)
	if last := c.Steps[len(c.Steps)-1]; last.Do != "vent" || !last.Done || !strings.Contains(c.Stop, "guard") ||
		len(c.Steps) != 3 {
		t.Errorf("%+v", c)
	}
}

// TestSettle: by hand, band and times as typed.
func TestSettle(t *testing.T) {
	at := func(s int) string { return time.Date(2026, 1, 1, 0, 0, s, 0, time.UTC).Format(time.RFC3339) }
	for _, c := range []struct {
		name    string
		values  []string
		seconds []int
		tick    bool
		taken   string // "" while it goes on
	}{
		{"at the edge of the band and of the time", []string{"5.0", "5.2", "5.1"}, []int{0, 5, 10}, false, "met"},
		{"beyond the band by a hair", []string{"5.0", "5.2000001", "5.1"}, []int{0, 5, 10}, false, ""},
		{"a second short", []string{"5.0", "5.1"}, []int{0, 9}, false, ""},
		{"rest after a fall", []string{"9", "5.0", "5.1", "5.1"}, []int{0, 5, 10, 15}, false, "met"},
		{"too late", []string{"9", "5.0", "5.1"}, []int{0, 29, 41}, false, "else"},
		{"ended by hand", []string{"5.0", "5.3"}, []int{0, 10}, true, "else"},
		{"a clock that went back", []string{"5", "5", "5"}, []int{10, 5, 14}, false, ""},
		{"decimals decide: 0.7 − 0.5 is 0.2", []string{"0.5", "0.7"}, []int{0, 10}, false, "met"},
	} {
		r := record{Programme: "unit bar gauge\nsettle within 0.1 for 10 s, at most 40 s else {\n  vent\n}\nvent\n"}
		for i, v := range c.values {
			r.Captures = append(r.Captures, capture{"l2.1", "settle", v, "bar", at(c.seconds[i])})
		}
		if c.tick {
			r.Done = []done{{"l2.1", at(59)}}
		}
		got := follow(t, r)
		taken := ""
		if len(got.Branches) > 0 {
			taken = got.Branches[0].Taken
		}
		if taken != c.taken {
			t.Errorf("%s: %q, want %q (%+v)", c.name, taken, c.taken, got.Branches)
		}
	}
}

// TestFollowGroups: a pressure with its wait and readings is one screen. Steps that depend on a
// missing value are not laid out.
func TestFollowGroups(t *testing.T) {
	c := follow(t, record{Programme: "unit bar gauge\nset 5\nhold 9 s\nread a from gauge\nread b from standard\nset 2\nnote \"look\"\nif a > 1 {\n  vent\n}\nvent\n"})
	var got []string
	for _, s := range c.Steps {
		got = append(got, fmt.Sprintf("%s %s %d %s%s", s.ID, s.Do, s.Screen, s.Of, s.Direction))
	}
	want := []string{
		"l2.1 set 1 up", "l3.1 hold 1 ", "l4.1 read 1 indicated", "l5.1 read 1 applied", "l6.1 set 2 down",
		"l7.1 note 3 ",
	}
	if !reflect.DeepEqual(got, want) || c.Ended {
		t.Errorf("%q", got)
	}
	// the value typed before the wait was over counts for the wait
	c = follow(t, record{Programme: "unit bar gauge\nset 5\nhold 9 s\nread a from gauge\nvent\n", Done: []done{{"l2.1", "2026-01-01T00:00:00Z"}},
		Captures: []capture{{"l4.1", "indicated", "500", "kPa", "2026-01-01T00:00:03Z"}}})
	if !reflect.DeepEqual(c.Current, []string{"l5.1"}) || !c.Ended {
		t.Errorf("%+v", c)
	}
	// a wait left early is flagged
	c = follow(
		t,
		record{
			Programme: "unit bar gauge\nset 5\nhold 9 s\nvent\n",
			Done:      []done{{"l2.1", "2026-01-01T00:00:00Z"}, {"l3.1", "2026-01-01T00:00:04.5Z"}},
		},
	)
	if len(c.Flags) != 1 || c.Flags[0].Code != "short" || !strings.Contains(c.Flags[0].Message, "after 4.5 s") {
		t.Errorf("%+v", c.Flags)
	}
}

// TestFollowEnds: an endless repeat without anything to do is refused, and so is a run with too
// many steps.
func TestFollowEnds(t *testing.T) {
	for _, text := range []string{
		"repeat 10000 { repeat 10000 { repeat 10000 { } } }\nvent\n",
		"ask \"how many\" as number into n\nrepeat until n > 2, at most 10000 { repeat until n > 3, at most 10000 { if n > 9 { vent } } }\nvent\n",
	} {
		c := follow(t, record{Programme: text, Captures: []capture{{"l1.1", "answer", "1", "", ""}}})
		if c.Error == nil || !strings.Contains(c.Error.Message, "passes") {
			t.Errorf("%q: %+v", text, c)
		}
	}
}

// FuzzFollow: no valid programme makes the run crash, hang or contradict itself, whatever was
// recorded.
func FuzzFollow(f *testing.F) {
	f.Add(story, "l5.1 4.9 l6.1.1 5.2", uint8(3))
	for _, s := range seeds(f) {
		f.Add(s, "l2.1 1 l3.1 yes l4.1 no", uint8(9))
	}
	f.Fuzz(func(t *testing.T, text, values string, acts uint8) {
		if _, err := programme.Parse(text); err != nil {
			return
		}
		h := worker(text, map[string][]string{})
		words := strings.Fields(values)
		for i := 0; i+1 < len(words); i += 2 {
			if strings.ContainsAny(words[i+1], "0123456789") {
				h.Captures = append(h.Captures, capture{words[i], "indicated", words[i+1], "", ""})
			} else {
				h.Captures = append(h.Captures, capture{words[i], "answer", words[i+1], "", ""})
			}
		}
		for range acts % 16 {
			c := follow(t, h.record)
			if c.Error != nil {
				return // values that no step could have taken
			}
			ids := map[string]bool{}
			for i, s := range c.Steps {
				if ids[s.ID] {
					t.Fatalf("%s is there twice", s.ID)
				}
				ids[s.ID] = true
				if i > 0 && s.Screen < c.Steps[i-1].Screen {
					t.Fatalf("screens go back at %s", s.ID)
				}
			}
			if c.Finished && (!c.Ended || len(c.Current) > 0) {
				t.Fatalf("finished with something to do: %+v", c)
			}
			if c.Finished || len(c.Current) == 0 || !h.act(t) {
				return
			}
		}
	})
}
