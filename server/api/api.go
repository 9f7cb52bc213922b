// Package api holds the routes and handlers; it is the only room that knows HTTP and the domain.
package api

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"strings"
	"sync"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/labels"
	"gaugewright/server/plant"
	"gaugewright/server/site"
	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"
)

// Deps is what the routes work with.
type Deps struct {
	Store   *store.Store
	Keeper  *auth.Keeper
	Client  fs.FS
	Now     func() time.Time
	Version string
	Secure  bool // reached by TLS: the cookie is __Host-
	HSTS    bool // browsers are told to use TLS alone; not with an own authority, whose page to trust it is plain HTTP on the same host
	Proxy   bool // a proxy on this or the private network stands in front and names the sender's address
	// OnAccepted is told of changes that devices pushed; nil if nobody wants to know.
	OnAccepted func([]change.Change)
	// Forwarding says how it stands with what a hub forwards; nil at an office.
	Forwarding func() (Forwarding, error)
	// FetchBlob gets a blob that is not here from the office above; nil at an office.
	FetchBlob func(ctx context.Context, name string) ([]byte, error)
}

type server struct {
	Deps
	desk     *desk
	scope    *scope
	contests *contests
	devices  *devices
	traces   awaited
	build    string // the version of the client that is served
	copying  sync.Mutex
}

const (
	maxJSON  = 8 << 20
	maxLogin = 64 << 10 // a guest sends it
	maxSync  = 16 << 20
	maxRoom  = 4 << 20 // what is made ready for a body on its sender's word
)

// New returns the handler of everything: the route table.
func New(d Deps) http.Handler {
	s := &server{Deps: d, desk: newDesk(d.Store, d.Now), scope: newScope(d.Store), contests: newContests(d.Store), devices: newDevices(d.Store, d.Now)}
	if page, err := fs.ReadFile(d.Client, "index.html"); err == nil {
		s.build = buildOf(page)
	}
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = s.refuse
	e.IPExtractor = echo.ExtractIPDirect() // a sender's own word for its address would get round the wait after wrong passwords
	if d.Proxy {
		e.IPExtractor = echo.ExtractIPFromXFFHeader()
	}
	e.Use(middleware.Recover(), s.headers)
	api := e.Group("/api", sameOrigin, noStore)

	api.GET("/version", s.version)
	api.POST("/login", s.login, limit(maxLogin))
	api.POST("/refresh", s.renew)
	api.POST("/logout", s.logout)

	everybody := s.allow(auth.Technician, auth.Reviewer, auth.Administrator)
	api.POST("/sync", s.sync, limit(maxSync))                                        // answers a revoked user too: what it sends is put aside
	carrier := s.allow(auth.Roles...)                                                // hubs too
	api.PUT("/blobs/:name", s.putBlob, s.handingOver(carrier), limit(store.MaxBlob)) // of a revoked user too, as far as it belongs to what was put aside
	api.GET("/blobs/:name", s.getBlob, carrier)
	api.HEAD("/blobs/:name", s.headBlob, s.handingOver(carrier))
	api.GET("/tree", s.tree, carrier)
	api.GET("/hub", s.forwarding, everybody)
	api.POST("/calc/:room", s.calc, everybody, limit(document.MaxBytes))

	api.GET("/logins", s.logins, everybody)
	api.DELETE("/logins", s.endOtherLogins, everybody)
	api.DELETE("/logins/:id", s.endLogin, everybody)

	reviewer := s.allow(auth.Reviewer, auth.Administrator)
	office := api.Group("/office", reviewer)
	office.Any("/*", otherMethod(e))
	office.GET("/day", s.day)
	office.GET("/visits/:id", s.officeVisit)
	office.POST("/visits/:id/approve", s.approve, limit(maxJSON))
	office.POST("/visits/:id/return", s.sendBack, limit(maxJSON))
	office.POST("/visits/:id/reopen", s.reopen, limit(maxJSON))
	office.POST("/visits/:id/certificate", s.certify)
	office.GET("/letterhead", s.letterhead)
	office.PUT("/letterhead", s.setLetterhead, s.allow(auth.Administrator), limit(maxJSON))
	office.GET("/register", s.register)
	office.GET("/people", s.colleagues)
	office.GET("/history/:id", s.history)
	office.GET("/standards/:id/uses", s.uses)
	office.GET("/quarantine", s.quarantine)
	office.GET("/devices", s.devicesList)
	office.POST("/unsent", s.unsent, limit(maxUnsent))
	office.GET("/contested", s.contestedList)
	office.GET("/contested/:id", s.contestedRecord)
	office.POST("/contested/:id", s.choose, limit(maxJSON))

	api.POST("/labels", s.labelSheet, reviewer, limit(maxJSON))
	api.GET("/labels/:file", s.label, reviewer)
	api.GET("/certificates/:file", s.certificate, everybody)

	admin := s.allow(auth.Administrator)
	api.GET("/users", s.users, admin)
	api.POST("/users", s.addUser, admin, limit(maxJSON))
	api.PUT("/users/:id/sites", s.setSites, admin, limit(maxLogin))
	api.POST("/users/:id/revoke", s.revoke, admin)
	api.POST("/users/:id/restore", s.restore, admin)
	api.POST("/users/:id/password", s.setPassword, admin, limit(maxLogin))
	api.POST("/backup", s.backup, admin)

	api.Any("", notFound)
	api.Any("/*", otherMethod(e))
	e.Any("/*", echo.WrapHandler(site.Handler(d.Client)))
	return press(e)
}

func notFound(echo.Context) error { return echo.ErrNotFound }

// otherMethod answers what no route took: with the methods that the path has, or as not found where it has none.
func otherMethod(e *echo.Echo) echo.HandlerFunc {
	return func(c echo.Context) error {
		var has []string
		probe := e.NewContext(c.Request(), nil)
		for _, m := range []string{http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodDelete} {
			e.Router().Find(m, c.Request().URL.Path, probe)
			if !strings.HasSuffix(probe.Path(), "*") {
				has = append(has, m)
			}
		}
		if len(has) == 0 {
			return echo.ErrNotFound
		}
		c.Response().Header().Set("Allow", strings.Join(has, ", "))
		return echo.ErrMethodNotAllowed
	}
}

// sameOrigin refuses a request that a page of another site makes a browser send.
func sameOrigin(next echo.HandlerFunc) echo.HandlerFunc {
	cross := http.NewCrossOriginProtection()
	return func(c echo.Context) error {
		if err := cross.Check(c.Request()); err != nil {
			return fmt.Errorf("%w: %w", errOrigin, err)
		}
		return next(c)
	}
}

func (s *server) headers(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		site.Headers(c.Response().Header(), s.HSTS)
		return next(c)
	}
}

func noStore(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		c.Response().Header().Set("Cache-Control", "no-store")
		return next(c)
	}
}

func limit(most int64) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) error {
			c.Request().Body = http.MaxBytesReader(c.Response(), c.Request().Body, most)
			return next(c)
		}
	}
}

// statuses is the one map from what went wrong to the answer's status and stable code.
var statuses = []struct {
	err    error
	status int
	code   string
}{
	{auth.ErrLogin, http.StatusUnauthorized, "login"},
	{auth.ErrToken, http.StatusUnauthorized, "token"},
	{auth.ErrRevoked, http.StatusForbidden, "revoked"},
	{auth.ErrTooMany, http.StatusTooManyRequests, "too_many"},
	{auth.ErrBusy, http.StatusServiceUnavailable, "busy"},
	{auth.ErrEnded, http.StatusConflict, "account_revoked"},
	{auth.ErrNoLogin, http.StatusNotFound, "not_found"},
	{errOrigin, http.StatusForbidden, "origin"},
	{auth.ErrInput, http.StatusBadRequest, "range"},
	{errRole, http.StatusForbidden, "role"},
	{errDate, http.StatusBadRequest, "range"},
	{errRemark, http.StatusBadRequest, "range"},
	{errReason, http.StatusBadRequest, "range"},
	{errChanged, http.StatusConflict, "changed"},
	{errUnsigned, http.StatusConflict, "unsigned"},
	{errApproved, http.StatusConflict, "approved"},
	{errContested, http.StatusConflict, "contested"},
	{errOwn, http.StatusConflict, "own"},
	{errIssued, http.StatusConflict, "issued"},
	{errStale, http.StatusConflict, "changed"},
	{errChoice, http.StatusBadRequest, "range"},
	{errNotYet, http.StatusConflict, "unsigned"},
	{errLetterhead, http.StatusBadRequest, "range"},
	{errLabels, http.StatusBadRequest, "range"},
	{labels.ErrLink, http.StatusBadRequest, "range"},
	{labels.ErrSize, http.StatusBadRequest, "range"},
	{plant.ErrNotFound, http.StatusNotFound, "not_found"},
	{plant.ErrKind, http.StatusNotFound, "not_found"},
	{plant.ErrValue, http.StatusUnprocessableEntity, "damaged"},
	{errCopying, http.StatusConflict, "busy"},
	{errUpstream, http.StatusBadGateway, "upstream"},
	{errType, http.StatusUnsupportedMediaType, "type"},
	{journal.ErrRange, http.StatusBadRequest, "range"},
	{store.ErrBlobName, http.StatusBadRequest, "shape"},
	{store.ErrBlobHash, http.StatusBadRequest, "hash"},
	{store.ErrBlobPlace, http.StatusConflict, "place"},
	{errRange, http.StatusBadRequest, "range"},
	{store.ErrBlobSize, http.StatusRequestEntityTooLarge, "too_large"},
	{fs.ErrNotExist, http.StatusNotFound, "not_found"},
	{store.ErrClosed, http.StatusServiceUnavailable, "closed"},
}

var (
	errOrigin = errors.New("the request comes from a page of another site")

	errRole = errors.New("your role may not do this")
	errType = errors.New("the body must be application/json")

	errUpstream = errors.New("it is at the office only, which cannot be reached now")

	errCopying = errors.New("a backup is being taken already")
)

func (s *server) refuse(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	status, code, field, message := http.StatusInternalServerError, "internal", "", "something went wrong here; nothing was lost"
	var fault *document.Fault
	var large *http.MaxBytesError
	var he *echo.HTTPError
	switch {
	case errors.As(err, &fault):
		status, code, field, message = http.StatusBadRequest, fault.Code, fault.Field, fault.Message
	case errors.As(err, &large):
		status, code, message = http.StatusRequestEntityTooLarge, "too_large", "the body is too large"
	case errors.Is(err, store.ErrFull):
		c.Logger().Error(err)
		status, code, message = http.StatusInsufficientStorage, "full", "the server's disk is full; nothing of this was kept"
	case errors.As(err, &he):
		status, code, message = he.Code, "http", http.StatusText(he.Code)
		switch he.Code {
		case http.StatusNotFound:
			code = "not_found"
		case http.StatusMethodNotAllowed:
			code = "method"
		}
	default:
		for _, k := range statuses {
			if errors.Is(err, k.err) {
				status, code, message = k.status, k.code, err.Error()
				break
			}
		}
	}
	if status == http.StatusServiceUnavailable || status == http.StatusTooManyRequests {
		c.Response().Header().Set("Retry-After", "5")
	}
	if status == http.StatusInternalServerError {
		c.Logger().Error(err)
	}
	answer := map[string]any{"error": map[string]string{"code": code, "field": field, "message": message}}
	if err := c.JSON(status, answer); err != nil {
		c.Logger().Error(err)
	}
}

// decode reads a small JSON body; an unknown field is an error.
func decode(c echo.Context, into any) error {
	if t, _, err := mime.ParseMediaType(c.Request().Header.Get("Content-Type")); err != nil || t != "application/json" {
		return errType
	}
	d := json.NewDecoder(c.Request().Body)
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return err
		}
		return document.Refuse(document.CodeSyntax, "", err.Error())
	}
	return nil
}

func body(c echo.Context) ([]byte, error) {
	if t, _, err := mime.ParseMediaType(c.Request().Header.Get("Content-Type")); err != nil || t != "application/json" {
		return nil, errType
	}
	// Room for what was announced, in gzip for twice as much: a body of a megabyte would be copied a dozen times as it grows.
	r := c.Request()
	size := max(r.ContentLength, 0)
	if r.Header.Get("Content-Encoding") != "" {
		size *= 2
	}
	var b bytes.Buffer
	b.Grow(int(min(size, maxRoom)) + bytes.MinRead)
	if _, err := b.ReadFrom(r.Body); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func newID() (string, error) { return change.NewID(rand.Reader) }
