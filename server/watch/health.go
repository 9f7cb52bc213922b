package watch

import (
	"encoding/json"
	"net/http"
)

// leastRoom is the free space below which the server should get no new work: less than a large
// plant writes in a day, and too little to copy its database for a backup.
const leastRoom = 64 << 20

// Live answers that the process runs. It checks nothing, so that a slow disk does not get a working
// server killed.
func (w *Watch) Live() http.Handler {
	return http.HandlerFunc(func(to http.ResponseWriter, _ *http.Request) { say(to, http.StatusOK, "live", "") })
}

// Ready answers whether this server should be sent work: its store is readable, its disk has space,
// and it is not about to end. If not, it names the reason.
func (w *Watch) Ready() http.Handler {
	return http.HandlerFunc(func(to http.ResponseWriter, _ *http.Request) {
		why := ""
		switch free, roomErr := room(w.store.Dir()); {
		case w.draining.Load():
			why = "the server is about to end"
		case roomErr != nil:
			why = "the data folder cannot be read"
		case free < leastRoom:
			why = "the data folder's disk is nearly full"
		case w.store.Failed() != nil:
			why = "the disk did not take a write; the server has to be started again"
		default:
			if _, err := w.store.Head(); err != nil {
				why = "the database cannot be read"
			}
		}
		if why != "" {
			say(to, http.StatusServiceUnavailable, "not ready", why)
			return
		}
		say(to, http.StatusOK, "ready", "")
	})
}

func say(to http.ResponseWriter, status int, state, why string) {
	h := to.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-store")
	to.WriteHeader(status)
	answer := map[string]string{"state": state}
	if why != "" {
		answer["reason"] = why
	}
	_ = json.NewEncoder(to).Encode(answer) // the client may have gone
}
