package api

import (
	"context"
	"errors"
	"sync"
	"time"
)

// order lets a device send its next piece of work before it has the answer to the one before. The
// next piece is read meanwhile, but accepted only after the one before. So work is judged in the
// order in which it was written, as if the pieces had come one by one.
type order struct {
	mu       sync.Mutex
	patience time.Duration
	known    map[string]*pushes // by device
}

// pushes are the latest requests of a device.
type pushes struct {
	list []*push
	more chan struct{} // closed when another one comes
}

type push struct {
	nonce string
	done  chan struct{} // closed when it is answered
	taken bool
}

const (
	// orderPatience is how long a piece waits for the one that was sent before it.
	orderPatience = 5 * time.Second
	// mostPushes is how many requests are remembered for a device, mostPushing for how many
	// devices.
	mostPushes  = 4
	mostPushing = 1000
)

// errEarly refuses a piece if the one before was not accepted. Nothing of it is kept, and its
// sender sends both again.
var errEarly = errors.New("after: the piece before this one was not taken; nothing of this one was kept")

func newOrder() *order { return &order{patience: orderPatience, known: map[string]*pushes{}} }

// begin notes a request; done ends it with whether its work was accepted.
func (o *order) begin(device, nonce string) (done func(taken bool)) {
	o.mu.Lock()
	defer o.mu.Unlock()
	p := o.of(device)
	one := &push{nonce: nonce, done: make(chan struct{})}
	p.list = append(p.list, one)
	p.list = p.list[max(0, len(p.list)-mostPushes):]
	close(p.more)
	p.more = make(chan struct{})
	return func(taken bool) {
		o.mu.Lock()
		defer o.mu.Unlock()
		one.taken = taken
		close(one.done)
	}
}

func (o *order) of(device string) *pushes {
	p := o.known[device]
	if p == nil {
		for id := range o.known { // any one: at worst its device sends both pieces again
			if len(o.known) < mostPushing {
				break
			}
			delete(o.known, id)
		}
		p = &pushes{more: make(chan struct{})}
		o.known[device] = p
	}
	return p
}

// follow waits until a device's request was accepted; without wait it only checks.
//
// Refuses: errEarly if the request was refused or does not come.
func (o *order) follow(ctx context.Context, device, nonce string, wait bool) error {
	ctx, cancel := context.WithTimeout(ctx, o.patience)
	defer cancel()
	for {
		o.mu.Lock()
		p := o.of(device)
		var one *push
		for _, other := range p.list {
			if other.nonce == nonce {
				one = other
			}
		}
		next := p.more
		if one != nil {
			next = one.done
		}
		o.mu.Unlock()
		if one != nil {
			select {
			case <-one.done:
				if one.taken {
					return nil
				}
				return errEarly
			default:
			}
		}
		if !wait {
			return errEarly
		}
		select {
		case <-next:
		case <-ctx.Done():
			return errEarly
		}
	}
}
