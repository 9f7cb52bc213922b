package api

import (
	"encoding/csv"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/export"
	"gaugewright/server/office"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

const (
	// maxRefusals is how many refused log-ins of a minute are listed singly, so that guessing does
	// not fill the disk. More are counted.
	maxRefusals = 30
	eventsPiece = 100
)

// refusals counts the refused log-ins of a minute.
type refusals struct {
	mu      sync.Mutex
	minute  time.Time
	listed  int
	skipped int
}

// one reports whether a refusal is listed, and how many before it were not.
func (r *refusals) one(now time.Time) (listed bool, skipped int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if now.Sub(r.minute) >= time.Minute || now.Before(r.minute) {
		r.minute, r.listed = now, 0
	}
	if r.listed >= maxRefusals {
		r.skipped++
		return false, 0
	}
	r.listed++
	skipped, r.skipped = r.skipped, 0
	return true, skipped
}

// maxRights is how many refused accesses of an hour are listed; more are counted with the first of
// the next hour.
const maxRights = 200

// rights remembers whose refused accesses were noted in an hour.
type rights struct {
	mu      sync.Mutex
	hour    time.Time
	listed  map[[2]string]bool // account and route
	skipped int
}

// one reports whether a refusal is listed: once an hour for each account and route. skipped counts
// the refusals that were left out before because there were too many.
func (r *rights) one(account, route string, now time.Time) (listed bool, skipped int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if now.Sub(r.hour) >= time.Hour || now.Before(r.hour) {
		r.hour, r.listed = now, map[[2]string]bool{}
	}
	key := [2]string{account, route}
	switch {
	case r.listed[key]:
		return false, 0
	case len(r.listed) >= maxRights:
		r.skipped++
		return false, 0
	}
	r.listed[key] = true
	skipped, r.skipped = r.skipped, 0
	return true, skipped
}

// noteRight notes that a user asked for what they have no right to. It names the route by its
// pattern and never by the requested address, which may contain anything.
func (s *server) noteRight(c echo.Context, u auth.User) {
	route := c.Request().Method + " " + c.Path()
	listed, skipped := s.rights.one(u.ID, route, s.Now())
	if !listed {
		return
	}
	if skipped > 0 {
		route += "; " + strconv.Itoa(skipped) + " more were not listed"
	}
	if err := s.noteOf(c, u.ID, "right_refused", "", route); err != nil {
		failed(c, err) // the request is refused anyway
	}
}

// note adds to the event log what the user has done.
func (s *server) note(c echo.Context, kind, about, detail string) error {
	u, _ := c.Get("user").(auth.User)
	return s.noteOf(c, u.ID, kind, about, detail)
}

func (s *server) noteOf(c echo.Context, by, kind, about, detail string) error {
	return s.Store.Note(store.Event{Kind: kind, By: by, About: about, Address: c.RealIP(), Detail: brief(detail)})
}

// maxDetail is in characters: a reason, or a browser's description of itself.
const maxDetail = 200

// noting returns the step that notes what the user does, for the transaction that does it.
func (s *server) noting(c echo.Context, kind, about, detail string) store.Step {
	u, _ := c.Get("user").(auth.User)
	return notingOf(c, u.ID, kind, about, detail)
}

func notingOf(c echo.Context, by, kind, about, detail string) store.Step {
	return store.Noting(store.Event{Kind: kind, By: by, About: about, Address: c.RealIP(), Detail: brief(detail)})
}

// answered answers that something was done, or why it was not.
func (*server) answered(c echo.Context, err error) error {
	if err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

// brief truncates a detail, and keeps it on one line.
func brief(text string) string {
	line := []rune(strings.Join(strings.Fields(strings.ToValidUTF8(text, "?")), " "))
	return string(line[:min(len(line), maxDetail)])
}

// noteRefusal notes a refused log-in. It notes the name only if an account has it: what was typed
// there may be a password.
func (s *server) noteRefusal(c echo.Context, name, why string) {
	listed, skipped := s.refused.one(s.Now())
	if !listed {
		return
	}
	detail := why
	if skipped > 0 {
		detail += "; " + strconv.Itoa(skipped) + " more were not listed"
	}
	about, err := s.Keeper.IDOf(name)
	if err == nil {
		err = s.noteOf(c, "", "login_refused", about, detail)
	}
	if err != nil {
		failed(c, err) // the log-in is refused anyway
	}
}

// event is an entry of the log with people's names.
type event struct {
	Seq     uint64 `json:"seq"`
	At      string `json:"at"`
	Kind    string `json:"kind"`
	By      string `json:"by"`
	About   string `json:"about"`
	Address string `json:"address"`
	Detail  string `json:"detail"`
}

func named(list []store.Event, names map[string]string) []event {
	called := func(id string) string {
		if id == "" {
			return ""
		}
		return office.Called(names, id)
	}
	out := make([]event, 0, len(list))
	for _, e := range list {
		out = append(out, event{e.Seq, e.At, e.Kind, called(e.By), called(e.About), e.Address, e.Detail})
	}
	return out
}

// events lists the event log, the newest first.
func (s *server) events(c echo.Context) error {
	before := uint64(0)
	if text := c.QueryParam("before"); text != "" {
		var err error
		if before, err = strconv.ParseUint(text, 10, 64); err != nil {
			return document.Refuse(document.CodeRange, "before", "is the number of an entry")
		}
	}
	list, err := s.Store.Events(before, eventsPiece)
	if err != nil {
		return err
	}
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	more := uint64(0)
	if len(list) == eventsPiece {
		more = list[len(list)-1].Seq
	}
	return c.JSON(http.StatusOK, map[string]any{"events": named(list, names), "more": more})
}

// eventsTable returns the whole event log as a table for spreadsheets, the newest first.
func (s *server) eventsTable(c echo.Context) error {
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "text/csv; charset=utf-8")
	h.Set(echo.HeaderContentDisposition, `attachment; filename="gaugewright-events.csv"`)
	w := csv.NewWriter(c.Response())
	rows := [][]string{{"number", "at", "event", "by", "about", "address", "detail"}}
	for before := uint64(0); ; {
		list, err := s.Store.Events(before, eventsPiece)
		if err != nil {
			return err
		}
		for _, e := range named(list, names) {
			rows = append(
				rows,
				[]string{
					strconv.FormatUint(e.Seq, 10), e.At, e.Kind, export.Cell(e.By), export.Cell(e.About),
					export.Cell(e.Address), export.Cell(e.Detail),
				},
			)
		}
		if err := w.WriteAll(rows); err != nil {
			return err
		}
		if len(list) < eventsPiece {
			return nil
		}
		rows, before = nil, list[len(list)-1].Seq
	}
}
