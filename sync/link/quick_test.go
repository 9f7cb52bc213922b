package link

import (
	"reflect"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

func one(id, value string) change.Change {
	return change.Change{ID: id, Device: "d1", Seq: 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(0, 0, "d1"), Record: "r1", Kind: "visit",
		Set: []change.Setting{{Field: "a", Value: []byte(value), Sees: []string{}}}}
}

// bodies are requests, replies and near misses.
func bodies() (list [][]byte) {
	a, b := one("c1", `{"x":[1,"]}"]}`), one("c2", `"\\\" [{"`)
	q := Request{
		Nonce: "n1", Device: "d1", Cursor: 7, Limit: 9, Changes: []Sent{{Bytes: a.Bytes()}, {Bytes: b.Bytes()}},
	}
	p := Response{
		Store: "s1", Nonce: "n1", Changes: []change.Change{a, b}, Acknowledged: []string{"c3"},
		Quarantined: []Held{{"c4", "no"}},
	}
	none, empty := Request{Nonce: "n1", Device: "d1", Limit: 1}, Response{Store: "s1", Nonce: "n1"}
	list = append(list, q.Bytes(), p.Bytes(), none.Bytes(), empty.Bytes())
	for _, text := range []string{`{"nonce":"n1","device":"d1","changes":[ ],"changes":[]}`, `{"nonce":"n1","device":"d1","changes":[{}]}`, `{"nonce":"n1","device":"d1","changes":[{]}`,
		`{"nonce":"n1","device":"d1","changes":[` + string(a.Bytes()) + ` , ` + string(b.Bytes()) + ` ] , "limit" : 5 }`, `{"nonce":"n1","device":"d1","changes":[` + string(a.Bytes()) + `,]}`,
		`{"nonce":"n1","device":"d1","changes":[` + string(a.Bytes()) + `]`, `{"nonce":"n1","device":"d1","changes":[` + string(a.Bytes()) + `]}}`, `{"a":{"changes":[]},"nonce":"n1","device":"d1","changes":[]}`,
		`{"nonce":"n1","device":"d1","changes":"none"}`, `<html>Welcome</html>`, `{"nonce":"n1","store":"s","cursor":0,"acknowledged":[],"quarantined":[],"changes":[{}]}`} {
		list = append(list, []byte(text))
	}
	return list
}

func bothWays(t *testing.T, b []byte) {
	t.Helper()
	q, err := ReadRequest(b)
	long, longErr := readRequest(b)
	if (err == nil) != (longErr == nil) || !reflect.DeepEqual(q, long) {
		t.Fatalf("the request %s\nquickly:   %+v, %v\nat length: %+v, %v", b, q, err, long, longErr)
	}
	p, err := ReadResponse(b, &Request{Nonce: "n1"})
	reply, replyErr := readResponse(b, &Request{Nonce: "n1"})
	if (err == nil) != (replyErr == nil) || !reflect.DeepEqual(p, reply) {
		t.Fatalf("the reply %s\nquickly:   %+v, %v\nat length: %+v, %v", b, p, err, reply, replyErr)
	}
}

// TestBothWaysOfReadingAgree: the quick and the slow reader read a body to the same result.
func TestBothWaysOfReadingAgree(t *testing.T) {
	quick := 0
	for _, b := range bodies() {
		bothWays(t, b)
		if _, _, _, ok := quickly(b, MaxPush); ok {
			quick++
		}
	}
	if quick < 6 {
		t.Errorf("only %d are read quickly", quick)
	}
}

// FuzzFrames: both readers read requests and replies to the same result, whatever their bytes.
func FuzzFrames(f *testing.F) {
	for _, b := range bodies() {
		f.Add(b)
	}
	f.Fuzz(bothWays)
}
