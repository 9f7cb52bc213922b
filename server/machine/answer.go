package machine

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"gaugewright/calc/document"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
	"golang.org/x/time/rate"
)

// Description is the OpenAPI document of the routes; go generate makes it from the table.
//
//go:embed openapi.json
var Description []byte

const (
	perSecond = 20  // sustained requests of a token
	atOnce    = 100 // requests in a burst before that applies
	usuallyOf = 50
	mostOf    = 200
	// mostPaced bounds the memory of the pace; beyond it the count starts afresh.
	mostPaced = 1000
	// noteEvery is how often the event log notes the use of a token from the same address.
	noteEvery = time.Hour
	// refusedPerMinute is how many refused tokens are noted per minute.
	refusedPerMinute = 10
)

// call is one request of a machine.
type call struct {
	echo.Context
	token Token
}

// pace limits the rate of each token.
type pace struct {
	now func() time.Time
	mu  sync.Mutex
	of  map[string]*rate.Limiter
}

func (p *pace) check(token string) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.of == nil || len(p.of) > mostPaced {
		p.of = map[string]*rate.Limiter{}
	}
	l := p.of[token]
	if l == nil {
		l = rate.NewLimiter(perSecond, atOnce)
		p.of[token] = l
	}
	now := p.now()
	r := l.ReserveN(now, 1)
	if d := r.DelayFrom(now); d > 0 {
		r.CancelAt(now)
		return &wait{d}
	}
	return nil
}

// uses counts the uses of tokens since they were last noted.
type uses struct {
	mu      sync.Mutex
	of      map[string]*use
	minute  time.Time
	refused int
}

type use struct {
	noted time.Time
	count int
}

// one counts a use, and says whether to note it now and how many uses that covers.
func (u *uses) one(token, address string, now time.Time) (due bool, count int) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.of == nil || len(u.of) > mostPaced {
		u.of = map[string]*use{}
	}
	key := token + " " + address
	it := u.of[key]
	if it == nil {
		it = &use{}
		u.of[key] = it
	}
	it.count++
	if now.Sub(it.noted) < noteEvery {
		return false, 0
	}
	count, it.count, it.noted = it.count, 0, now
	return true, count
}

// refusal reports whether to note a refused token.
func (u *uses) refusal(now time.Time) bool {
	u.mu.Lock()
	defer u.mu.Unlock()
	if now.Sub(u.minute) >= time.Minute {
		u.minute, u.refused = now, 0
	}
	u.refused++
	return u.refused <= refusedPerMinute
}

// pathOf returns a path of the table in the router's form.
func pathOf(path string) string {
	return strings.NewReplacer("{", ":", "}", "").Replace(path)
}

// answer authorises a request and answers it.
func (a *API) answer(r *route) echo.HandlerFunc {
	return func(c echo.Context) error {
		err := a.let(r, c)
		if err != nil {
			return refuse(c, err)
		}
		return nil
	}
}

func (a *API) let(r *route, c echo.Context) error {
	secret, _ := strings.CutPrefix(c.Request().Header.Get("Authorization"), "Bearer ")
	t, err := a.Tokens.Who(secret)
	if err != nil {
		if errors.Is(err, ErrToken) && a.uses.refusal(a.Now()) {
			err = errors.Join(err, a.Store.Note(store.Event{
				Kind: "machine_refused", Address: c.RealIP(), Detail: r.method + " " + r.path,
			}))
		}
		return err
	}
	if err := a.pace.check(t.ID); err != nil {
		return err
	}
	if r.scope != "" && !t.May(r.scope) {
		return errScope
	}
	if r.writes && a.Hub {
		return errAbove
	}
	if due, count := a.uses.one(t.ID, c.RealIP(), a.Now()); due {
		said := store.Noting(store.Event{
			Kind: "machine_used", About: t.Name, Address: c.RealIP(),
			Detail: strconv.Itoa(count) + " since the last entry; now " + r.method + " " + r.path,
		})
		if err := a.Tokens.Seen(t.ID, said); err != nil {
			return err
		}
	}
	if r.writes {
		c.Request().Body = http.MaxBytesReader(c.Response(), c.Request().Body, maxBody)
	} else if err := known(r, c.QueryParams()); err != nil {
		return err
	}
	return r.handle(a, &call{c, t})
}

// known refuses a parameter that the route does not have: a misspelt filter would otherwise find
// everything.
func known(r *route, q url.Values) error {
	for name := range q {
		if !slices.ContainsFunc(r.query, func(p param) bool { return p.name == name }) {
			return document.Refuse(document.CodeUnknownField, name, "is no parameter of this address")
		}
	}
	return nil
}

// otherwise says why no route took a request.
func otherwise(c echo.Context) error {
	probe := c.Echo().NewContext(c.Request(), nil)
	for _, m := range []string{"GET", "POST", "PUT", "DELETE"} {
		c.Echo().Router().Find(m, c.Request().URL.Path, probe)
		if !strings.HasSuffix(probe.Path(), "*") {
			return echo.ErrMethodNotAllowed
		}
	}
	return echo.ErrNotFound
}

// give answers with a body that the client may already have.
func (c *call) give(v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return c.giveBytes(echo.MIMEApplicationJSON, b)
}

// giveBytes answers with bytes, or with 304 if If-None-Match names them (RFC 9110, 13.1.2).
func (c *call) giveBytes(media string, b []byte) error {
	sum := sha256.Sum256(b)
	tag := `"` + hex.EncodeToString(sum[:16]) + `"` // weak: the body may be compressed on the way
	h := c.Response().Header()
	h.Set("ETag", "W/"+tag)
	h.Set("Cache-Control", "private, no-cache")
	for one := range strings.SplitSeq(c.Request().Header.Get("If-None-Match"), ",") {
		if one = strings.TrimPrefix(strings.TrimSpace(one), "W/"); one == tag || one == "*" {
			return c.NoContent(http.StatusNotModified)
		}
	}
	return c.Blob(http.StatusOK, media, b)
}

// piece reads where a page starts and how many items it may have.
func (c *call) piece() (after string, n int, err error) {
	n = usuallyOf
	if text := c.QueryParam("limit"); text != "" {
		if n, err = strconv.Atoi(text); err != nil || n < 1 || n > mostOf {
			return "", 0, document.Refuse(document.CodeRange, "limit", "is a number from 1 to 200")
		}
	}
	if text := c.QueryParam("cursor"); text != "" {
		b, err := base64.RawURLEncoding.DecodeString(text)
		if err != nil || len(b) == 0 {
			return "", 0, document.Refuse(document.CodeRange, "cursor", "is not next of an earlier piece")
		}
		after = string(b)
	}
	return after, n, nil
}

func cursorOf(place string) string { return base64.RawURLEncoding.EncodeToString([]byte(place)) }

// read reads the body; an unknown field is an error.
func (c *call) read(into any) error {
	t, _, err := mime.ParseMediaType(c.Request().Header.Get("Content-Type"))
	if err != nil || t != echo.MIMEApplicationJSON {
		return errType
	}
	d := json.NewDecoder(c.Request().Body)
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return err
		}
		field := ""
		var kind *json.UnmarshalTypeError
		if errors.As(err, &kind) {
			field = kind.Field
		}
		if _, name, found := strings.Cut(err.Error(), "unknown field "); found {
			field, _ = strconv.Unquote(name) // encoding/json quotes it this way
			return document.Refuse(document.CodeUnknownField, field, "is not known here")
		}
		return document.Refuse(document.CodeSyntax, field, err.Error())
	}
	return nil
}
