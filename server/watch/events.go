package watch

import (
	"context"
	"log/slog"
	"slices"
	"strconv"
	"time"

	"gaugewright/sync/store"
)

const (
	// eventsEvery is how often it looks for new entries of the event log.
	eventsEvery = time.Second
	eventsPiece = 100
)

// Events copies each entry of the store's event log into the server's own log, which the system can
// send to another machine, until ctx ends. After a restart it continues after the last entry that
// it copied. A power cut may repeat an entry, and never loses one. The first time it starts with
// the next entry.
func (w *Watch) Events(ctx context.Context) {
	logged := w.store.Private("events told")
	var at uint64
	b, err := logged.Get("seq")
	if err == nil {
		if b != nil {
			at, err = strconv.ParseUint(string(b), 10, 64)
		} else if at, err = newest(w.store); err == nil {
			err = logged.Put("seq", strconv.AppendUint(nil, at, 10))
		}
	}
	if err != nil {
		w.log.Error("the event log is not passed on", "error", err)
		return
	}
	tick := time.NewTicker(eventsEvery)
	defer tick.Stop()
	for {
		to, err := w.pass(at)
		if err == nil && to != at {
			at, err = to, logged.Put("seq", strconv.AppendUint(nil, to, 10))
		}
		if err != nil {
			w.log.Error("the event log is not passed on now", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// pass logs the entries after one and returns the last.
func (w *Watch) pass(at uint64) (uint64, error) {
	var list []store.Event
	for before := uint64(0); ; before = list[len(list)-1].Seq {
		piece, err := w.store.Events(before, eventsPiece)
		if err != nil {
			return at, err
		}
		known := slices.IndexFunc(piece, func(e store.Event) bool { return e.Seq <= at })
		if known >= 0 {
			piece = piece[:known]
		}
		if list = append(list, piece...); known >= 0 || len(piece) < eventsPiece {
			break
		}
	}
	for _, e := range slices.Backward(list) {
		w.log.Log(context.Background(), slog.LevelInfo, "event",
			"seq", e.Seq, "at", e.At, "kind", e.Kind, "by", e.By, "about", e.About, "address", e.Address, "detail", e.Detail)
		at = e.Seq
	}
	return at, nil
}

func newest(s *store.Store) (uint64, error) {
	list, err := s.Events(0, 1)
	if err != nil || len(list) == 0 {
		return 0, err
	}
	return list[0].Seq, nil
}
