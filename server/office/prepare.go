package office

import (
	"encoding/json"
	"runtime"
	"time"

	"golang.org/x/sync/errgroup"
)

// openDemand is a demand of which is not known what serves it, or what a test of it takes.
type openDemand struct {
	demand
	method  methodCard
	serves  []string
	minutes int
	failed  bool // the question of its standards failed; whoever asks next gets the reason
}

// prepare asks which standards serve the instruments and what their tests take, where that is not
// known yet. Each is a calculation, and a large plant has thousands: the lists are free meanwhile, so
// that nobody else waits for it, and each processor takes its part.
func (x *Index) prepare() error {
	x.preparing.Lock()
	defer x.preparing.Unlock()
	today := x.now().Format(time.DateOnly)
	list, standards, err := x.openDemands(today)
	if err != nil || len(list) == 0 {
		return err
	}
	var all errgroup.Group
	all.SetLimit(runtime.GOMAXPROCS(0))
	for i := range list {
		one := &list[i]
		all.Go(func() error {
			var err error
			one.serves, err = one.method.chosen(one.demand, standards, today)
			one.failed = err != nil
			one.minutes = one.method.laidOut(one.demand)
			return nil
		})
	}
	_ = all.Wait() // each keeps its own
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.served.day != today || !sameBytes(x.served.standards, standards) || x.minutes == nil {
		return nil // a standard or a method came meanwhile: what is asked next asks again
	}
	for i := range list {
		one := &list[i]
		if !one.failed {
			x.served.known[one.demand] = one.serves
		}
		x.minutes[one.demand] = one.minutes
	}
	return nil
}

// openDemands lists the demands of which something is not known, with the standards of the day.
func (x *Index) openDemands(today string) (list []openDemand, standards json.RawMessage, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, nil, err
	}
	if err := x.onDay(today); err != nil {
		return nil, nil, err
	}
	if x.minutes == nil {
		x.minutes = map[demand]int{}
	}
	seen := map[demand]bool{}
	for _, c := range x.gauges {
		of := demand{c.facts.Method, c.wants}
		method := x.methods[of.method]
		if seen[of] || len(method.definition) == 0 {
			continue
		}
		seen[of] = true
		_, served := x.served.known[of]
		if _, laid := x.minutes[of]; !served || !laid {
			list = append(list, openDemand{demand: of, method: method})
		}
	}
	return list, x.served.standards, nil
}

// sameBytes says whether two texts are one and the same in memory.
func sameBytes(a, b []byte) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}
