package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"math"
	"mime"
	"net"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"sync"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/labels"
	"gaugewright/server/office"
	"gaugewright/server/openid"
	"gaugewright/server/plant"
	"gaugewright/server/site"
	"gaugewright/server/watch"
	"gaugewright/sync/change"
	"gaugewright/sync/hub"
	"gaugewright/sync/journal"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"
	"golang.org/x/sync/semaphore"
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
	// Watch counts and logs each request, and is asked for the server's health.
	Watch *watch.Watch
	// Proxies are the addresses of proxies in front, which are believed when they name the sender's
	// address; none where there is no proxy in front.
	Proxies []netip.Prefix
	// PublicURL is where phones reach the server, for what is printed; "" where the request says so.
	PublicURL string
	// RequireSecond refuses the office to reviewers and administrators without a second factor.
	RequireSecond bool
	// OpenID is the provider by which people log in too; nil where there is none. OpenIDSecond says
	// that it asks for a second factor itself.
	OpenID       *openid.Provider
	OpenIDSecond bool
	// Stopping is closed when the server is to end: whoever waits for news is let go. nil: never.
	Stopping <-chan struct{}
	// Oldest is the oldest protocol of the exchange that is spoken; 0 is link.Oldest.
	Oldest int
	// OnAccepted is told of changes that devices pushed; nil if nobody wants to know.
	OnAccepted func([]change.Change)
	// Forwarding gives the state of what a hub forwards; nil at an office.
	Forwarding func() (Forwarding, error)
	// Refused lists what the office above does not take, and Offer offers it again; nil at an office.
	Refused func() ([]hub.Refused, error)
	Offer   func() error
	// FetchBlob gets a blob that is not here from the office above; nil at an office.
	FetchBlob func(ctx context.Context, name string) ([]byte, error)
}

type server struct {
	Deps
	office  *office.Office
	scope   *office.Scope
	devices *devices
	places  *office.BlobSites
	bodies  *semaphore.Weighted // bytes of large bodies that arrive
	large   turns               // of those that are worked on
	refused refusals
	blobs   allowance
	build   string // the version of the client that is served
	news    *news
	copying sync.Mutex
	handing sync.Mutex // while what somebody brings is counted
}

const (
	maxJSON  = 8 << 20
	maxLogin = 64 << 10 // a guest sends it
	maxSync  = 16 << 20
	maxRoom  = document.MaxBytes // what is made ready for a body on its sender's word; of large ones few arrive at once
)

// New returns the handler of everything: the route table.
func New(d Deps) http.Handler {
	s := &server{Deps: d, office: office.New(d.Store, d.Keeper, d.Now), scope: office.NewScope(d.Store),
		devices: newDevices(d.Store, d.Now), places: office.NewBlobSites(d.Store), news: &news{store: d.Store}, bodies: semaphore.NewWeighted(mostArriving),
		large: make(turns, mostLarge)}
	if page, err := fs.ReadFile(d.Client, "index.html"); err == nil {
		s.build = buildOf(page)
	}
	if d.Forwarding != nil {
		s.office.Carries()
	}
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = s.refuse
	e.IPExtractor = echo.ExtractIPDirect() // a sender's own word for its address would get round the wait after wrong passwords
	if len(d.Proxies) > 0 {
		e.IPExtractor = behind(d.Proxies)
	}
	if d.Watch != nil {
		e.Use(d.Watch.Middleware()...)
		e.GET("/health/live", echo.WrapHandler(d.Watch.Live()))
		e.GET("/health/ready", echo.WrapHandler(d.Watch.Ready()))
	}
	e.Use(middleware.Recover(), s.headers, s.pacedBody)
	api := e.Group("/api", sameOrigin, noStore)

	api.GET("/version", s.version)
	api.GET("/ways", s.ways)
	api.POST("/login", s.login, limit(maxLogin))
	api.POST("/login/passkey", s.beginPasskeyLogin, limit(maxLogin))
	api.POST("/login/passkey/finish", s.finishPasskeyLogin, limit(maxLogin))
	api.GET("/openid/begin", s.beginOpenID)
	api.GET("/openid/back", s.finishOpenID)
	api.POST("/openid/logout", s.endedOutside, limit(maxLogin))
	api.POST("/refresh", s.renew)
	api.POST("/logout", s.logout)
	api.GET("/verify", s.list)

	everybody := s.allow(auth.Technician, auth.Reviewer, auth.Administrator)
	api.POST(
		"/sync", s.sync, s.arriving, limit(maxSync),
	) // answers a revoked user too: what it sends is put aside
	carrier := s.allow(auth.Roles...) // hubs too
	api.PUT(
		"/blobs/:name", s.putBlob, s.handingOver(carrier), s.allowed, limit(store.MaxBlob),
	) // of a revoked user too, as far as it belongs to what was put aside
	api.GET("/blobs/:name", s.getBlob, carrier)
	api.HEAD("/blobs/:name", s.headBlob, s.handingOver(carrier))
	api.GET("/tree", s.tree, carrier)
	api.GET("/news", s.sendNews, carrier)
	api.GET("/hub", s.forwarding, everybody)
	api.POST("/calc/:room", s.calc, everybody, s.arriving, limit(document.MaxBytes))

	api.GET("/keys", s.keys, everybody)
	api.POST("/keys/:id/end", s.endKey, everybody, limit(maxJSON))
	api.POST("/keys/:id/confirm", s.confirmKey, s.allow(auth.Administrator))
	api.GET("/account/keys", s.ownKeys, everybody)
	api.GET("/logins", s.logins, everybody)
	api.DELETE("/logins", s.endOtherLogins, everybody)
	api.DELETE("/logins/:id", s.endLogin, everybody)
	api.GET("/account", s.ownAccount, everybody)
	api.POST("/account/password", s.ownPassword, everybody, limit(maxLogin))
	api.POST("/account/second", s.beginSecond, everybody, limit(maxLogin))
	api.POST("/account/second/confirm", s.confirmSecond, everybody, limit(maxLogin))
	api.POST("/account/second/end", s.endSecond, everybody, limit(maxLogin))
	api.POST("/account/passkeys", s.beginPasskey, everybody, limit(maxLogin))
	api.POST("/account/passkeys/finish", s.finishPasskey, everybody, limit(maxLogin))
	api.DELETE("/account/passkeys/:id", s.removePasskey, everybody, limit(maxLogin))

	reviewer := s.allow(auth.Reviewer, auth.Administrator)
	office := api.Group("/office", reviewer)
	office.Any("/*", otherMethod(e))
	office.GET("/day", s.day)
	office.GET("/visits/:id", s.officeVisit)
	office.POST("/visits/:id/approve", s.approve, limit(maxJSON))
	office.POST("/visits/:id/return", s.sendBack, limit(maxJSON))
	office.POST("/visits/:id/seen", s.seen, limit(maxJSON))
	office.POST("/visits/:id/reopen", s.reopen, limit(maxJSON))
	office.POST("/visits/:id/certificate", s.certify, limit(maxJSON))
	office.GET("/visits/:id/draft.pdf", s.draft)
	office.POST("/certificates/read", s.readCertificate, limit(maxCertificate))
	office.GET("/letterhead", s.letterhead)
	office.PUT("/letterhead", s.setLetterhead, s.allow(auth.Administrator), limit(maxJSON))
	office.GET("/register", s.register)
	office.GET("/table", s.table)
	office.GET("/table.csv", s.tableCSV)
	office.GET("/export.zip", s.export)
	office.POST("/import/try", s.tryImport, s.arriving, limit(maxImport))
	office.POST("/results/try", s.tryResults, s.arriving, limit(maxImport))
	office.POST("/results", s.bringResults, s.arriving, limit(maxImport))
	office.POST("/import", s.takeImport, s.arriving, limit(maxImport))
	office.POST("/instruments/:id/exchange", s.exchangeInstrument, limit(maxLogin))
	office.GET("/figures", s.figures)
	office.GET("/figures/tests", s.figureTests)
	office.GET("/advice", s.advices)
	office.GET("/advice/:id", s.outlook)
	office.POST("/advice", s.decideAdvice, limit(maxJSON))
	office.GET("/planning", s.planning)
	office.PUT("/planning", s.setPlanning, limit(maxJSON))
	office.GET("/board", s.board)
	office.POST("/board", s.makeRounds, limit(maxJSON))
	office.PUT("/board/:id", s.moveRound, limit(maxLogin))
	office.GET("/bulk", s.bulks)
	office.POST("/bulk", s.changeBulk, limit(maxJSON))
	office.POST("/bulk/preview", s.previewBulk, limit(maxJSON))
	office.POST("/bulk/:id/undo", s.undoBulk)
	office.GET("/views", s.views)
	office.PUT("/views", s.setViews, limit(maxLogin))
	office.GET("/people", s.colleagues)
	office.GET("/history/:id", s.history)
	office.GET("/standards/:id/uses", s.uses)
	office.GET("/quarantine", s.quarantine)
	office.POST("/quarantine/:id/take", s.takeAside, limit(maxJSON))
	office.POST("/quarantine/:id/reject", s.rejectAside, limit(maxJSON))
	office.POST("/hub/offer", s.offer, limit(maxLogin))
	office.GET("/devices", s.devicesList)
	office.GET("/keys", s.keysList, s.allow(auth.Administrator))
	office.GET("/back", s.back)
	office.POST("/unsent", s.unsent, limit(maxUnsent))
	office.GET("/contested", s.contestedList)
	office.GET("/contested/:id", s.contestedRecord)
	office.POST("/contested/:id", s.choose, limit(maxJSON))

	api.POST("/labels", s.labelSheet, reviewer, limit(maxJSON))
	api.POST("/labels/defects", s.defectTags, reviewer, limit(maxJSON))
	api.GET("/labels/:file", s.label, reviewer)
	api.GET("/certificates/:file", s.certificate, everybody)

	admin := s.allow(auth.Administrator)
	api.GET("/users", s.users, admin)
	api.POST("/users", s.addUser, admin, limit(maxJSON))
	api.PUT("/users/:id/sites", s.setSites, admin, limit(maxLogin))
	api.PUT("/users/:id/person", s.setPerson, admin, limit(maxLogin))
	api.PUT("/users/:id/role", s.setRole, admin, limit(maxLogin))
	api.POST("/users/:id/revoke", s.revoke, admin)
	api.POST("/users/:id/restore", s.restore, admin)
	api.POST("/users/:id/password", s.setPassword, admin, limit(maxLogin))
	api.POST("/users/:id/invite", s.inviteAgain, admin)
	api.GET("/users/:id/logins", s.loginsOf, admin)
	api.DELETE("/users/:id/logins", s.endLoginsOf, admin)
	api.DELETE("/users/:id/second", s.endSecondOf, admin)
	api.PUT("/users/:id/openid", s.expectOpenID, admin, limit(maxLogin))
	api.DELETE("/users/:id/openid", s.endOpenID, admin)
	api.GET("/events", s.events, admin)
	api.GET("/events.csv", s.eventsTable, admin)
	api.DELETE("/blobs/:name", s.erasePhoto, admin, limit(maxLogin))
	api.GET("/office/visits/:id/personal", s.personal, admin)
	api.POST("/office/visits/:id/erase", s.eraseValues, admin, limit(maxJSON))
	api.POST("/backup", s.backup, admin)

	api.Any("", notFound)
	api.Any("/*", otherMethod(e))
	e.Any("/*", echo.WrapHandler(site.Handler(d.Client)))
	return press(e)
}

// behind reads the sender's address from what proxies of these addresses add, and from nobody
// else's word.
func behind(proxies []netip.Prefix) echo.IPExtractor {
	trust := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range proxies {
		a := p.Addr()
		trust = append(trust, echo.TrustIPRange(&net.IPNet{IP: a.AsSlice(), Mask: net.CIDRMask(p.Bits(), a.BitLen())}))
	}
	return echo.ExtractIPFromXFFHeader(trust...)
}

func notFound(echo.Context) error { return echo.ErrNotFound }

// otherMethod answers what no route took: with the methods that the path has, or as not found where
// it has none.
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
	{auth.ErrSecond, http.StatusUnauthorized, "second"},
	{auth.ErrInvited, http.StatusUnauthorized, "invited"},
	{errNotAdded, http.StatusBadRequest, "passkey"},
	{auth.ErrNoPasskeys, http.StatusConflict, "passkeys"},
	{auth.ErrNoPasskey, http.StatusNotFound, "not_found"},
	{auth.ErrUnknownPasskey, http.StatusUnauthorized, "passkey_unknown"},
	{auth.ErrCounter, http.StatusUnauthorized, "passkey_counter"},
	{auth.ErrSpent, http.StatusUnauthorized, "passkey_spent"},
	{auth.ErrUninvited, http.StatusUnauthorized, "passkey_invited"},
	{auth.ErrPasskey, http.StatusUnauthorized, "passkey"},
	{errPassword, http.StatusForbidden, "password"},
	{errSecondWanted, http.StatusForbidden, "second_wanted"},
	{auth.ErrFactor, http.StatusConflict, "second"},
	{auth.ErrCode, http.StatusBadRequest, "code"},
	{auth.ErrRevoked, http.StatusForbidden, "revoked"},
	{auth.ErrTooMany, http.StatusTooManyRequests, "too_many"},
	{auth.ErrBusy, http.StatusServiceUnavailable, "busy"},
	{auth.ErrEnded, http.StatusConflict, "account_revoked"},
	{auth.ErrExists, http.StatusConflict, "exists"},
	{auth.ErrLast, http.StatusConflict, "last"},
	{auth.ErrNoLogin, http.StatusNotFound, "not_found"},
	{auth.ErrNotOutside, http.StatusNotFound, "not_found"},
	{errNoOpenID, http.StatusConflict, "openid"},
	{openid.ErrToken, http.StatusBadRequest, "logout_token"},
	{openid.ErrReach, http.StatusServiceUnavailable, "reach"},
	{openid.ErrBusy, http.StatusServiceUnavailable, "busy"},
	{errOrigin, http.StatusForbidden, "origin"},
	{auth.ErrInput, http.StatusBadRequest, "range"},
	{errRole, http.StatusForbidden, "role"},
	{office.ErrRole, http.StatusForbidden, "role"},
	{office.ErrDate, http.StatusBadRequest, "range"},
	{office.ErrRemark, http.StatusBadRequest, "range"},
	{office.ErrReason, http.StatusBadRequest, "range"},
	{office.ErrChanged, http.StatusConflict, "changed"},
	{office.ErrUnsigned, http.StatusConflict, "unsigned"},
	{office.ErrApproved, http.StatusConflict, "approved"},
	{office.ErrDiffers, http.StatusConflict, "recomputed"},
	{office.ErrAway, http.StatusConflict, "away"},
	{office.ErrFrozen, http.StatusConflict, "approved"},
	{office.ErrContested, http.StatusConflict, "contested"},
	{office.ErrKey, http.StatusConflict, "key"},
	{office.ErrOwn, http.StatusConflict, "own"},
	{office.ErrIssued, http.StatusConflict, "issued"},
	{errOlder, http.StatusUpgradeRequired, "older"},
	{errListeners, http.StatusServiceUnavailable, "busy"},
	{errDealt, http.StatusConflict, "changed"},
	{errNotTaken, http.StatusConflict, "not_taken"},
	{office.ErrWhy, http.StatusBadRequest, "range"},
	{errWhy, http.StatusBadRequest, "range"},
	{office.ErrStale, http.StatusConflict, "changed"},
	{office.ErrUndone, http.StatusConflict, "undone"},
	{office.ErrChoice, http.StatusBadRequest, "range"},
	{office.ErrNotApproved, http.StatusConflict, "unsigned"},
	{office.ErrNotReady, http.StatusConflict, "unready"},
	{office.ErrIncomplete, http.StatusConflict, "unready"},
	{office.ErrLetterhead, http.StatusBadRequest, "range"},
	{office.ErrIncoming, http.StatusBadRequest, "range"},
	{office.ErrAccreditation, http.StatusBadRequest, "range"},
	{office.ErrNoMachine, http.StatusNotFound, "not_found"},
	{office.ErrNotSigned, http.StatusNotFound, "not_found"},
	{office.ErrNoKey, http.StatusNotFound, "not_found"},
	{office.ErrImport, http.StatusBadRequest, "file"},
	{office.ErrLabels, http.StatusBadRequest, "range"},
	{office.ErrInService, http.StatusConflict, "in_service"},
	{labels.ErrLink, http.StatusBadRequest, "range"},
	{labels.ErrSize, http.StatusBadRequest, "range"},
	{plant.ErrNotFound, http.StatusNotFound, "not_found"},
	{plant.ErrKind, http.StatusNotFound, "not_found"},
	{plant.ErrValue, http.StatusUnprocessableEntity, "damaged"},
	{office.ErrErase, http.StatusUnprocessableEntity, "not_personal"},
	{office.ErrEraseAbove, http.StatusConflict, "at_the_office"},
	{office.ErrPeopleAbove, http.StatusConflict, "at_the_office"},
	{store.ErrErased, http.StatusGone, "erased"},
	{store.ErrDamaged, http.StatusUnprocessableEntity, "damaged"},
	{store.ErrHeldFull, http.StatusInsufficientStorage, "full"},
	{errSlow, http.StatusRequestTimeout, "slow"},
	{errAllowance, http.StatusTooManyRequests, "too_many"},
	{errHandedOver, http.StatusInsufficientStorage, "full"},
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

	errPassword     = errors.New("the password is wrong")
	errNotAdded     = errors.New("the passkey was not added")
	errSecondWanted = errors.New("this needs a second factor; set it up under Device, Account")

	errRole = errors.New("your role may not do this")
	errType = errors.New("the body must be application/json")

	errUpstream = errors.New("it is at the office only, which cannot be reached now")

	errOlder = errors.New("the program on this device is too old for the office; nothing of this was kept, the work stays on the device until the program is brought up to date")

	errCopying = errors.New("a backup or an export is being taken already")
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
		failed(c, err)
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
		var wanted *auth.Wanted
		if errors.As(err, &wanted) {
			field = wanted.Ways()
		}
	}
	if status == http.StatusServiceUnavailable || status == http.StatusTooManyRequests {
		after := 5 * time.Second
		var wait *auth.Wait
		if errors.As(err, &wait) {
			after = wait.For
		}
		c.Response().Header().Set("Retry-After", strconv.Itoa(int(math.Ceil(after.Seconds()))))
	}
	if status == http.StatusInternalServerError {
		failed(c, err)
	}
	answer := map[string]any{"error": map[string]string{"code": code, "field": field, "message": message}}
	if err := c.JSON(status, answer); err != nil {
		failed(c, err)
	}
}

// failed logs what the sender is not told, under the id that their answer carries.
func failed(c echo.Context, err error) {
	slog.Error("an answer failed", "request", c.Response().Header().Get(echo.HeaderXRequestID), "error", err)
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
		if errors.As(err, &large) || errors.Is(err, errSlow) {
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
	// Room for what was announced, in gzip for twice as much: a body of a megabyte would be copied a
	// dozen times as it grows.
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
