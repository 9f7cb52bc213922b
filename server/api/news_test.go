package api_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"gaugewright/server/api"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

type heard struct {
	Seq     uint64
	Records []string
	Many    bool
}

// listen opens a stream of news and returns what it sends; the channel is closed when the stream
// ends.
func listen(t *testing.T, p *testPlant, address, who string) <-chan heard {
	t.Helper()
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	t.Cleanup(stop)
	r, err := http.NewRequestWithContext(ctx, "GET", address+"/api/news", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+p.tokens[who])
	a, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	if kind := a.Header.Get("Content-Type"); a.StatusCode != 200 || kind != "text/event-stream" ||
		a.Header.Get("Content-Encoding") != "" {
		t.Fatal(a.StatusCode, kind)
	}
	out := make(chan heard, 100)
	go func() {
		defer close(out)
		defer a.Body.Close()
		lines := bufio.NewScanner(a.Body)
		for lines.Scan() {
			data, is := strings.CutPrefix(lines.Text(), "data: ")
			var one heard
			if is && json.Unmarshal([]byte(data), &one) == nil {
				out <- one
			}
		}
	}()
	<-out // the journal's present end
	return out
}

func next(t *testing.T, from <-chan heard) (one heard, open bool) {
	t.Helper()
	select {
	case one, open = <-from:
		return one, open
	case <-time.After(20 * time.Second):
		t.Fatal("no news")
		return heard{}, false
	}
}

func newsChange(ident, record, kind, site, parent string, count uint64) change.Change {
	return change.Change{ID: ident, Device: "d1", Seq: count, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(count, 0, "d1"),
		Record: record, Kind: kind, Site: site, Parent: parent, Set: []change.Setting{{Field: "note", Value: []byte(`"x"`)}}}
}

// TestNewsComeAtOnce checks that a listener gets new entries, a run with its visit, nothing that
// the log-in may not see, and nothing after the log-in or the server ends.
func TestNewsComeAtOnce(t *testing.T) {
	p := newPlant(t)
	if err := p.keeper.SetSites(id("technician"), []string{"s1"}); err != nil {
		t.Fatal(err)
	}
	stopping := make(chan struct{})
	server := httptest.NewServer(
		api.New(api.Deps{Store: p.store, Keeper: p.keeper, Now: p.clock, Client: fstest.MapFS{}, Stopping: stopping}),
	)
	defer server.Close()
	office, phone := listen(t, p, server.URL, "reviewer"), listen(t, p, server.URL, "technician")
	add := func(list ...change.Change) {
		if r, err := p.store.Add(context.Background(), list); err != nil || len(r.Accepted) != len(list) {
			t.Fatal(r, err)
		}
	}
	add(newsChange("n1", "v1", "visit", "s2", "", 1), newsChange("n2", "r1", "run", "s2", "v1", 2))
	if one, _ := next(t, office); one.Seq != 2 || !slices.Equal(one.Records, []string{"v1", "r1"}) {
		t.Errorf("the office is told %+v", one)
	}
	add(newsChange("n3", "v3", "visit", "s1", "", 3))
	if one, _ := next(t, office); one.Seq != 3 || !slices.Equal(one.Records, []string{"v3"}) {
		t.Errorf("the office is told %+v", one)
	}
	if one, _ := next(t, phone); one.Seq != 3 || !slices.Equal(one.Records, []string{"v3"}) {
		t.Errorf("who may not see a site is told %+v", one)
	}
	if err := p.keeper.Revoke(id("technician")); err != nil {
		t.Fatal(err)
	}
	add(newsChange("n4", "v4", "visit", "s1", "", 4))
	if one, open := next(t, phone); open {
		t.Errorf("an ended account is told %+v", one)
	}
	if one, _ := next(t, office); one.Seq != 4 {
		t.Errorf("the office is told %+v", one)
	}
	close(stopping)
	if one, open := next(t, office); open {
		t.Errorf("after the end: %+v", one)
	}
}

// TestManyNewsAreOne checks that news that come faster than they are sent are sent together, and
// that too many to name are reported as many.
func TestManyNewsAreOne(t *testing.T) {
	p := newPlant(t)
	server := httptest.NewServer(p.handler)
	office := listen(t, p, server.URL, "reviewer")
	defer server.CloseClientConnections()
	for i := range 12 {
		var list []change.Change
		for k := range 100 {
			list = append(
				list,
				newsChange(
					fmt.Sprintf("n%dn%d", i, k), fmt.Sprintf("r%dn%d", i, k), "visit", "", "", uint64(100*i+k+1),
				),
			)
		}
		if r, err := p.store.Add(context.Background(), list); err != nil || len(r.Accepted) != 100 {
			t.Fatal(r, err)
		}
	}
	for seq, many := uint64(0), false; seq < 1200; {
		one, open := next(t, office)
		if !open || one.Seq <= seq || len(one.Records) == 0 || len(one.Records) > 100 {
			t.Fatalf("after %d: %+v, open %v", seq, one, open)
		}
		many, seq = many || one.Many, one.Seq
		if seq == 1200 && !many {
			t.Error("1,200 records were named")
		}
	}
}
