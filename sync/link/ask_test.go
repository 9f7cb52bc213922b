package link_test

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
)

// TestBothSidesReadEachOther: what one side writes, the other reads as it was meant.
func TestBothSidesReadEachOther(t *testing.T) {
	c := made("c1", "r1", 0)
	q := link.Request{
		Store: "s1", Epoch: "e1", Root: "ab", Cursor: 7, Nonce: "n1", Device: "d1", Limit: 9,
		Protocol: link.Protocol, Changes: []link.Sent{{Bytes: c.Bytes()}},
	}
	got, err := link.ReadRequest(q.Bytes())
	if err != nil || len(got.Changes) != 1 || got.Changes[0].Fault != nil || got.Changes[0].ID != "c1" {
		t.Fatalf("%+v, %v", got, err)
	}
	got.Changes, q.Changes = nil, nil
	if !reflect.DeepEqual(got, q) {
		t.Errorf("%+v, want %+v", got, q)
	}
	p := link.Response{Store: "s1", Epoch: "e1", Root: "cd", Nonce: "n1", Again: true, Cursor: 8, More: true, Acknowledged: []string{"c1"},
		Quarantined: []link.Held{{ID: "c2", Reason: "no"}}, Changes: []change.Change{c}, Time: "2026-03-04T05:06:08Z"}
	back, err := link.ReadResponse(p.Bytes(), &q)
	if err != nil || string(back.Bytes()) != string(p.Bytes()) {
		t.Errorf("%+v, %v", back, err)
	}
	newer := strings.Replace(string(p.Bytes()), `{"store"`, `{"further":[1],"store"`, 1)
	if back, err := link.ReadResponse([]byte(newer), &q); err != nil || string(back.Bytes()) != string(p.Bytes()) {
		t.Errorf("a newer office's reply: %v", err)
	}
}

// TestOnlyTheOfficeAnswers: pages and replies to another request are refused.
func TestOnlyTheOfficeAnswers(t *testing.T) {
	q := link.Request{Nonce: "n1"}
	other := link.Response{Store: "s1", Nonce: "n2"}
	for _, body := range []string{"", "<html>Welcome</html>", "{}", "[]", `{"nonce":"n1"}`, string(other.Bytes()),
		`{"nonce":"n1","store":"s","cursor":0,"acknowledged":[],"quarantined":[],"changes":[{}]}`} {
		if _, err := link.ReadResponse([]byte(body), &q); !errors.Is(err, link.ErrReply) {
			t.Errorf("%s: %v", body, err)
		}
	}
}

func FuzzReadResponse(f *testing.F) {
	p := link.Response{
		Store: "s1", Nonce: "n1", Changes: []change.Change{made("c1", "r1", 0)},
		Quarantined: []link.Held{{ID: "c2", Reason: "no"}},
	}
	f.Add(p.Bytes())
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := link.ReadResponse(b, &link.Request{Nonce: "n1"})
		if err != nil && (p.Nonce != "" || p.Changes != nil) {
			t.Fatal("a reply beside an error")
		}
	})
}
