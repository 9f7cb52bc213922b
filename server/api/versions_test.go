package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"gaugewright/server/api"
	"gaugewright/sync/link"
)

// exchanged is a request of a program with an earlier protocol, and the real answer of an office of
// that time.
type exchanged struct {
	Name    string          `json:"name"`
	Request json.RawMessage `json:"request"`
	Reply   json.RawMessage `json:"reply"`
}

func recorded(t *testing.T, file string) (list []exchanged) {
	t.Helper()
	b, err := os.ReadFile(file)
	if err == nil {
		err = json.Unmarshal(b, &list)
	}
	if err != nil || len(list) == 0 {
		t.Fatal(file, len(list), err)
	}
	return list
}

func members(t *testing.T, b []byte) (m map[string]any) {
	t.Helper()
	if err := json.Unmarshal(b, &m); err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	return m
}

// TestEarlierClientsAreAnswered: to each request of every protocol that is spoken, this office says
// all that an office of that time said, in the same fields. It may say more, which such a client
// passes over.
func TestEarlierClientsAreAnswered(t *testing.T) {
	for n := link.Oldest; n <= link.Protocol; n++ {
		list := recorded(t, filepath.Join("testdata", "protocol", fmt.Sprint(n)+".json"))
		p := newPlant(t)
		then := members(t, list[0].Reply)
		now := strings.NewReplacer(then["store"].(string), p.store.StoreID(), then["epoch"].(string), p.store.Epoch())
		for _, one := range list {
			r := p.do("technician", "POST", "/api/sync", now.Replace(string(one.Request)))
			if r.status != 200 {
				t.Fatalf("protocol %d, %s: %d %s", n, one.Name, r.status, r.body)
			}
			got := members(t, r.body)
			for name, want := range members(t, []byte(now.Replace(string(one.Reply)))) {
				switch name {
				case "protocol": // of today
					want = float64(link.Protocol)
				case "given": // by this plant's own key
					want = got[name]
					if text, ok := want.(string); !ok || text == "" {
						t.Errorf("protocol %d, %s: given is %v", n, one.Name, want)
					}
				}
				if !reflect.DeepEqual(got[name], want) {
					t.Errorf("protocol %d, %s: %s is %v, it was %v", n, one.Name, name, got[name], want)
				}
			}
		}
	}
}

// TestNewerChangesStayWithTheirSender checks that what this office cannot read is named, and kept
// by its sender. For a sender that does not know such an answer it is quarantined.
func TestNewerChangesStayWithTheirSender(t *testing.T) {
	p := newPlant(t)
	change := recorded(t, filepath.Join("testdata", "protocol", "1.json"))[1]
	var sent struct{ Changes []json.RawMessage }
	if err := json.Unmarshal(change.Request, &sent); err != nil {
		t.Fatal(err)
	}
	var good bytes.Buffer
	if err := json.Compact(&good, sent.Changes[0]); err != nil {
		t.Fatal(err)
	}
	newer := strings.NewReplacer(`{"v":1,"id":"ch1"`, `{"v":2,"id":"ch9","because":"of the future"`).Replace(good.String())
	ask := func(protocol string) map[string]any {
		r := p.do(
			"technician", "POST", "/api/sync",
			fmt.Sprintf(`{"nonce":"n","device":"dev1ce"%s,"changes":[%s,%s]}`, protocol, newer, good.String()),
		)
		if r.status != 200 {
			t.Fatal(r.status, string(r.body))
		}
		return members(t, r.body)
	}
	got := ask(`,"protocol":2`)
	if !reflect.DeepEqual(got["newer"], []any{"ch9"}) || !reflect.DeepEqual(got["acknowledged"], []any{"ch1"}) ||
		len(got["quarantined"].([]any)) != 0 {
		t.Errorf("%v", got)
	}
	if n, _, err := p.store.HeldSize(); err != nil || n != 0 {
		t.Errorf("%d held, %v", n, err)
	}
	got = ask("")
	if got["newer"] != nil || len(got["quarantined"].([]any)) != 1 {
		t.Errorf("%v", got)
	}
}

// TestTooOldIsTold checks that a program with an unsupported protocol gets that answer, and that nothing
// it sends is kept or lost.
func TestTooOldIsTold(t *testing.T) {
	p := newPlant(t)
	p.handler = api.New(
		api.Deps{Store: p.store, Keeper: p.keeper, Now: p.clock, Client: fstest.MapFS{}, Oldest: link.Protocol},
	)
	push := recorded(t, filepath.Join("testdata", "protocol", "1.json"))[1]
	r := p.do("technician", "POST", "/api/sync", string(push.Request))
	if r.status != 426 || !strings.Contains(string(r.body), `"older"`) {
		t.Errorf("%d %s", r.status, r.body)
	}
	if last, err := p.store.Last(); err != nil || last != 0 {
		t.Errorf("%d kept, %v", last, err)
	}
	if r := p.do("technician", "POST", "/api/sync", fmt.Sprintf(`{"nonce":"n","device":"dev1ce","changes":[],"protocol":%d}`, link.Protocol)); r.status != 200 {
		t.Errorf("%d %s", r.status, r.body)
	}
}

// TestAHubPassesOnWhatIsTheirs checks that of what a newer program wrote, a hub keeps a person's
// own work from a device of theirs. What names another author or another's device stays with its
// sender, and nothing of it is kept.
func TestAHubPassesOnWhatIsTheirs(t *testing.T) {
	p := newPlant(t)
	p.handler = api.New(api.Deps{
		Store: p.store, Keeper: p.keeper, Now: p.clock, Version: "0.1.0",
		Client: fstest.MapFS{"index.html": {Data: []byte("page")}}, Offer: func() error { return nil },
	})
	var theirs, mine []*http.Cookie
	reviewer, _ := p.login("reviewer", &theirs)
	technician, _ := p.login("technician", &mine)
	p.offers(reviewer, "dthe1rs", with("dthe1rs", "reviewer", "r1", 1))
	newer := func(ident, who, device string) string {
		return fmt.Sprintf(`{"v":2,"id":%q,"author":%q,"device":%q,"because":"of the future"}`, ident, id(who), device)
	}
	a := p.do(technician, "POST", "/api/sync", fmt.Sprintf(
		`{"nonce":"n","device":"dph","protocol":2,"changes":[%s,%s,%s]}`,
		newer("n1", "technician", "dph"), newer("n2", "reviewer", "dph"), newer("n3", "technician", "dthe1rs"),
	))
	if a.status != 200 {
		t.Fatal(a.status, string(a.body))
	}
	got := members(t, a.body)
	if !reflect.DeepEqual(got["newer"], []any{"n2", "n3"}) || !reflect.DeepEqual(got["acknowledged"], []any{"n1"}) {
		t.Errorf("%s", a.body)
	}
	list, err := p.store.PassingAfter(0, 10, 1<<20)
	if err != nil || len(list) != 1 || list[0].ID != "n1" {
		t.Errorf("%+v, %v", list, err)
	}
}
