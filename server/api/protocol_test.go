package api_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gaugewright/sync/link"
)

var record = flag.Bool("record", false, "write what this office answers to today's client into testdata/protocol")

// place is how far a device has come.
type place struct {
	Store  string `json:"store"`
	Epoch  string `json:"epoch"`
	Root   string `json:"root"`
	Cursor uint64 `json:"cursor"`
	Scope  string `json:"scope"`
}

// TestRecordProtocol writes, where it is asked to, an exchange of each sort as the client of today
// asks it: go test ./server/api -run TestRecordProtocol -args -record. It is done once for each
// protocol, before its number rises: TestEarlierClientsAreAnswered holds later offices to it, the
// tests of the client's link hold the client to it.
func TestRecordProtocol(t *testing.T) {
	file := filepath.Join("testdata", "protocol", fmt.Sprint(link.Protocol)+".json")
	if !*record {
		if _, err := os.Stat(file); err != nil {
			t.Errorf("protocol %d is not recorded", link.Protocol)
		}
		return
	}
	p := newPlant(t)
	var list []exchanged
	var at place
	refused := "?"
	said := map[string]string{"": "", "beside": ""} // the nonce of each lane's last reply
	ask := func(name, lane, more string, changes ...string) {
		t.Helper()
		where, err := json.Marshal(at)
		if err != nil {
			t.Fatal(err)
		}
		nonce := fmt.Sprintf("n%d", len(list)+1)
		all := "["
		for i, c := range changes {
			if i > 0 {
				all += ","
			}
			all += c
		}
		request := fmt.Sprintf(`%s,"protocol":%d,"nonce":%q,"device":"dev1ce","changes":%s],%s,"last":%q,"refused":%q,`+
			`"about":{"wall":"2026-03-04T05:06:07.000Z","version":"AB","waiting":1,"photos":0,`+
			`"oldest":"2026-03-04T05:06:07.000Z","was":""},"hold":{"name":""}}`,
			where[:len(where)-1], link.Protocol, nonce, all, more, said[lane], refused)
		r := p.do("technician", "POST", "/api/sync", request)
		if r.status != 200 {
			t.Fatalf("%s: %d %s", name, r.status, r.body)
		}
		list = append(list, exchanged{name, json.RawMessage(request), json.RawMessage(r.body)})
		said[lane] = nonce
		var got struct {
			place
			Again   bool
			Same    bool
			Refused *string
		}
		if err := json.Unmarshal(r.body, &got); err != nil {
			t.Fatal(err)
		}
		if lane == "" && !got.Same && !got.Again {
			at = got.place
		}
		if got.Refused != nil {
			refused = *got.Refused
		}
	}
	one := func(id string, seq int, field, value string) string {
		return fmt.Sprintf(`{"v":1,"id":%q,"device":"dev1ce","seq":%d,"author":"techn1c1an",`+
			`"wall":"2026-03-04T05:06:07.089Z","stamp":"%012x-819cb7a40ff1-dev1ce","record":"v1s1t","kind":"visit",`+
			`"site":"","parent":"","set":[{"field":%q,"value":%q,"sees":[]}]}`,
			id, seq, seq, field, value)
	}
	ask("the first kinds", "", `"limit":500,"kinds":["site","person","instrument","standard","method","round"]`)
	ask("a push, of which one may not be written", "", `"limit":500`,
		one("ch1", 1, "note", "as read"), one("ch2", 2, "approval", "as read"))
	ask("the next piece beside it", "beside", `"limit":1,"lane":1,"after":"n2"`, one("ch3", 3, "remark.one", "dirty"))
	ask("a pull", "", `"limit":500,"brief":true`)
	ask("idle", "", `"limit":500,"brief":true`)
	ask("which are there", "", `"limit":1,"has":["ch1","ch9"]`)
	ask("a newer change", "", `"limit":500`,
		`{"v":2,"id":"ch4","device":"dev1ce","author":"techn1c1an","because":"of the future"}`)
	at.Epoch = "another"
	ask("another life of the office", "", `"limit":500,"brief":true`)
	b, err := json.MarshalIndent(list, "", " ")
	if err == nil {
		err = os.WriteFile(file, append(b, '\n'), 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}
