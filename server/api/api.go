package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"mime"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/calendar"
	"gaugewright/server/desk"
	"gaugewright/server/holdings"
	"gaugewright/server/hooks"
	"gaugewright/server/machine"
	"gaugewright/server/mail"
	"gaugewright/server/office"
	"gaugewright/server/openid"
	"gaugewright/server/site"
	"gaugewright/server/watch"
	"gaugewright/sync/change"
	"gaugewright/sync/hub"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"
	"golang.org/x/sync/semaphore"
)

// Deps are the dependencies of the routes.
type Deps struct {
	Store   *store.Store
	Keeper  *auth.Keeper
	Client  fs.FS
	Now     func() time.Time
	Version string
	Secure  bool // served over TLS: the cookie is __Host-
	HSTS    bool // tell browsers to use TLS only; not with our own authority, whose page to trust it is plain HTTP on the same host
	// Office is the store's office; nil if nothing else uses it. Hooks notifies other systems of
	// events, and Mail notifies people; nil if nothing is sent.
	Office *office.Office
	Hooks  *hooks.Hooks
	Mail   *mail.Mail
	// Watch counts and logs each request, and reports the server's health.
	Watch *watch.Watch
	// Proxies are the addresses of the proxies in front, whose word on the sender's address is
	// trusted; none if there is no proxy.
	Proxies []netip.Prefix
	// PublicURL is where phones reach the server, for printing; "" to use the request's address.
	PublicURL string
	// RequireSecond closes the office to reviewers and administrators without a second factor.
	RequireSecond bool
	// OpenID is the provider through which users can also log in; nil for none. OpenIDSecond is
	// true if it asks for a second factor itself.
	OpenID       *openid.Provider
	OpenIDSecond bool
	// Stopping is closed when the server is to end, which releases those who wait for news. nil:
	// never.
	Stopping <-chan struct{}
	// Oldest is the oldest supported protocol of the exchange; 0 is link.Oldest.
	Oldest int
	// Whole is up to how many bytes of changes a phone holds the whole plant; 0 is
	// holdings.UsualWhole.
	Whole uint64
	// OnAccepted is called with changes that devices pushed; it may be nil.
	OnAccepted func([]change.Change)
	// Forwarding returns the state of a hub's forwarding; nil at an office.
	Forwarding func() (Forwarding, error)
	// Refused lists what the office above refuses, and Offer offers it again; nil at an office.
	Refused func() ([]hub.Refused, error)
	Offer   func() error
	// Erased are the folders with the list of erasures: that of the store and that of its backups.
	// What is listed and present all the same when the server starts is erased again.
	Erased []string
	// FetchBlob gets a missing blob from the office above; nil at an office.
	FetchBlob func(ctx context.Context, name string) ([]byte, error)
}

type server struct {
	Deps
	office   *office.Office
	desk     *desk.Desk
	scope    *office.Scope
	lists    lists
	holdings *holdings.Holdings
	devices  *devices
	places   *office.BlobSites
	bodies   *semaphore.Weighted // bytes of large bodies that are arriving
	packing  *semaphore.Weighted
	large    turns // of those being processed
	order    *order
	refused  refusals
	rights   rights
	blobs    allowance
	build    string // version of the served client
	news     *news
	tokens   *machine.Tokens
	feeds    *calendar.Feeds
	copying  sync.Mutex
	handing  sync.Mutex // held while a push is counted
}

const (
	maxJSON     = 8 << 20
	maxLogin    = 64 << 10 // anyone can send it
	maxSync     = 16 << 20
	maxReserved = document.MaxBytes // how much is reserved on the sender's word; few large bodies arrive at once
)

// New returns the handler for everything; it holds the route table.
func New(d Deps) http.Handler {
	if d.Office == nil {
		d.Office = office.New(d.Store, d.Keeper, d.Now)
	}
	if d.Hooks == nil {
		d.Hooks = hooks.New(d.Store, d.Office, d.Now, nil, slog.Default())
	}
	if d.Mail == nil {
		d.Mail = mail.New(d.Store, d.Office, d.Keeper, d.Now, mail.Server{}, "", slog.Default())
	}
	scope := office.NewScope(d.Store)
	s := &server{Deps: d, office: d.Office, scope: scope,
		holdings: holdings.New(d.Store, scope, d.Office.Sites, d.Now, d.Whole),
		devices:  newDevices(d.Store, d.Now), places: office.NewBlobSites(d.Store), news: &news{store: d.Store},
		tokens: machine.NewTokens(d.Store, d.Now),
		feeds:  calendar.NewFeeds(d.Store, d.Office, d.Now), bodies: semaphore.NewWeighted(mostArriving), packing: semaphore.NewWeighted(mostPacking),
		large: make(turns, mostLarge), order: newOrder()}
	if page, err := fs.ReadFile(d.Client, "index.html"); err == nil {
		s.build = buildOf(page)
	}
	if d.Forwarding != nil {
		s.office.Carries()
	}
	if len(d.Erased) > 0 {
		s.eraseAgain()
	}
	s.desk = desk.New(life{context.Background(), d.Stopping}, d.Store, s.office, d.Now)
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = s.refuse
	e.IPExtractor = echo.ExtractIPDirect() // trusting a sender's own header would bypass the wait after wrong passwords
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
	) // answers a revoked user too, whose work goes to quarantine
	carrier := s.allow(auth.Roles...) // including hubs
	api.PUT(
		"/blobs/:name", s.putBlob, s.handingOver(carrier), s.allowed, limit(store.MaxBlob),
	) // also of a revoked user, if it belongs to quarantined work
	api.GET("/blobs/:name", s.getBlob, carrier)
	api.HEAD("/blobs/:name", s.headBlob, s.handingOver(carrier))
	api.POST("/hold", s.held, everybody, limit(maxJSON))
	api.GET("/tree", s.tree, carrier)
	api.GET("/news", s.sendNews, carrier)
	api.GET("/hub", s.forwarding, everybody)
	api.POST("/calc/:calculation", s.calc, everybody, s.arriving, limit(document.MaxBytes))

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
	office.GET("/queue", s.queue)
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
	office.GET("/table.xlsx", s.tableXLSX)
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
	office.GET("/methods/:id", s.method)
	office.POST("/methods/:id/approve", s.approveMethod, limit(maxLogin))
	office.GET("/people", s.colleagues)
	office.GET("/history/:id", s.history)
	office.GET("/standards/:id/uses", s.uses)
	office.GET("/standards", s.deskStandards)
	office.GET("/standards/:id", s.deskStandard)
	office.PUT("/standards/:id/where", s.putStandard, limit(maxLogin))
	office.POST("/standards/:id/checks", s.checkStandard, limit(maxLogin))
	office.DELETE("/standards/:id/checks/:check", s.takeCheckBack)
	office.POST("/standards/:id/lookbacks", s.openLookback, limit(maxJSON))
	office.GET("/lookbacks", s.lookbacks)
	office.GET("/lookbacks/:id", s.lookback)
	office.POST("/lookbacks/:id/begin", s.beginLookback)
	office.POST("/lookbacks/:id/decide", s.decideLookback, limit(maxJSON))
	office.POST("/lookbacks/:id/close", s.closeLookback, limit(maxJSON))
	office.GET("/lookbacks/:id/:file", s.lookbackFile)
	office.GET("/state", s.plantState)
	office.GET("/reports/:file", s.reports)
	office.GET("/instruments/:id/dossier.pdf", s.dossier)
	office.GET("/competences", s.competences)
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
	api.GET("/events.xlsx", s.eventsXLSX, admin)
	api.POST("/users/:id/competences", s.authorise, admin, limit(maxLogin))
	api.DELETE("/users/:id/competences/:entry", s.withdrawAuthorisation, admin)
	api.DELETE("/blobs/:name", s.erasePhoto, admin, limit(maxLogin))
	api.GET("/office/visits/:id/personal", s.personal("visit"), admin)
	api.POST("/office/visits/:id/erase", s.eraseValues("visit"), admin, limit(maxJSON))
	api.GET("/office/people/:id/personal", s.personal("person"), admin)
	api.POST("/office/people/:id/erase", s.eraseValues("person"), admin, limit(maxJSON))
	api.POST("/backup", s.backup, admin)
	api.GET("/machines/tokens", s.machineTokens, admin)
	api.POST("/machines/tokens", s.makeMachineToken, admin, limit(maxLogin))
	api.DELETE("/machines/tokens/:id", s.endMachineToken, admin)
	api.GET("/calendar/:file", s.calendar)
	api.GET("/feeds", s.calendarFeeds, admin)
	api.POST("/feeds", s.makeFeed, admin, limit(maxLogin))
	api.DELETE("/feeds/:id", s.endFeed, admin)
	api.GET("/mail", s.mail, admin)
	api.PUT("/mail/people/:id", s.setMail, admin, limit(maxLogin))
	api.POST("/mail/people/:id/try", s.tryMail, admin)
	api.GET("/hooks", s.hooks, admin)
	api.POST("/hooks", s.makeHook, admin, limit(maxLogin))
	api.DELETE("/hooks/:id", s.removeHook, admin)
	api.POST("/hooks/:id/resume", s.resumeHook, admin)
	api.GET("/hooks/messages", s.hookMessages, admin)
	api.POST("/hooks/messages", s.sendHookAgain, admin, limit(maxLogin))

	machine.New(machine.Deps{
		Store: d.Store, Office: s.office, Tokens: s.tokens, Now: d.Now, Version: d.Version,
		Hub: d.Forwarding != nil,
	}).Mount(e.Group("/api/v1", noStore))

	api.Any("", notFound)
	api.Any("/*", otherMethod(e))
	e.Any("/*", echo.WrapHandler(site.Handler(d.Client)))
	return compress(e)
}

// behind takes the sender's address from the header that these proxies add, and trusts nobody else.
func behind(proxies []netip.Prefix) echo.IPExtractor {
	trust := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range proxies {
		a := p.Addr()
		trust = append(trust, echo.TrustIPRange(&net.IPNet{IP: a.AsSlice(), Mask: net.CIDRMask(p.Bits(), a.BitLen())}))
	}
	return echo.ExtractIPFromXFFHeader(trust...)
}

func notFound(echo.Context) error { return echo.ErrNotFound }

// otherMethod answers a request that no route took: with the methods of its path, or not found if
// the path has none.
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

// sameOrigin refuses a request that another site's page made a browser send.
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

// failed logs what the answer leaves out, under the answer's id.
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
	// Reserve what was announced, or twice that for gzip: otherwise a body of a megabyte is copied
	// a dozen times as it grows.
	r := c.Request()
	size := max(r.ContentLength, 0)
	if r.Header.Get("Content-Encoding") != "" {
		size *= 2
	}
	var b bytes.Buffer
	b.Grow(int(min(size, maxReserved)) + bytes.MinRead)
	if _, err := b.ReadFrom(r.Body); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
