package machine

import (
	"net/http"
	"time"

	"gaugewright/server/office"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

// param is a parameter of a query.
type param struct{ name, means string }

// route is a row of the table: everything the description says about it.
type route struct {
	method, path string
	scope        Scope // "" for any token
	name, does   string
	query        []param
	body, reply  any
	media        string // of a reply that is not JSON
	status       []int  // of replies that are not refusals; nil: 200
	writes       bool
	handle       func(*API, *call) error
}

var (
	cursor = param{"cursor", "where the piece begins: next of the piece before"}
	most   = param{"limit", "most items of the piece: 1 to 200, 50 where it is not said"}
)

// routes is the whole table.
var routes = []route{
	{
		method: "GET", path: "/about", name: "getAbout", does: "What the token may do, at which sites, and until when.",
		reply: About{}, handle: (*API).about,
	},
	{
		method: "GET", path: "/instruments", scope: ReadInstruments, name: "listInstruments",
		does: "The register in the order of its tags, in pieces; of a token with sites, what is there.",
		query: []param{
			{"q", "text that is searched for"}, {"area", "area"}, {"kind", "kind of instrument"},
			{"status", "in service or out of service"}, {"verdict", "verdict of the latest test, as found"},
			{"due", "overdue, none, or the day by which it is due"}, cursor, most,
		},
		reply: InstrumentPage{}, handle: (*API).instruments,
	},
	{
		method: "GET", path: "/instruments/{id}", scope: ReadInstruments, name: "getInstrument",
		does: "One instrument.", reply: InstrumentDetail{}, handle: (*API).instrument,
	},
	{
		method: "GET", path: "/due", scope: ReadDue, name: "listDue",
		does:  "Instruments in service whose test is due by a day, in the order of their tags.",
		query: []param{{"by", "the day by which; today where it is not said"}, {"area", "area"}, cursor, most},
		reply: DuePage{}, handle: (*API).due,
	},
	{
		method: "GET", path: "/visits", scope: ReadVisits, name: "listVisits",
		does: "Visits in the order in which they came, in pieces. A piece may have fewer items than asked for and still have a next one.",
		query: []param{
			{"status", "open, signed, returned, approved or reopened"}, {"instrument", "id of an instrument"},
			{"order", "number of an order"}, {"verdict", "verdict as found"},
			{"since", "day on which it was begun, or later"}, cursor, most,
		},
		reply: VisitPage{}, handle: (*API).visits,
	},
	{
		method: "GET", path: "/visits/{id}", scope: ReadVisits, name: "getVisit",
		does:  "One visit with its readings as they were typed and as they were corrected, and its findings.",
		query: []param{{"whole", "1 gives each finding as it is kept, too"}},
		reply: VisitDetail{}, handle: (*API).visit,
	},
	{
		method: "GET", path: "/certificates", scope: ReadCertificates, name: "listCertificates",
		does:  "Certificates in the order in which they came, in pieces. A piece may have fewer items than asked for and still have a next one.",
		query: []param{{"number", "number of a certificate"}, cursor, most},
		reply: CertificatePage{}, handle: (*API).certificates,
	},
	{
		method: "GET", path: "/certificates/{id}", scope: ReadCertificates, name: "getCertificate",
		does: "One certificate.", reply: Certificate{}, handle: (*API).certificate,
	},
	{
		method: "GET", path: "/certificates/{id}/pdf", scope: ReadCertificates, name: "getCertificatePDF",
		does: "Its document.", media: "application/pdf", handle: (*API).certificatePDF,
	},
	{
		method: "GET", path: "/certificates/{id}/xml", scope: ReadCertificates, name: "getCertificateXML",
		does: "Its form for machines (DCC 3.3.0).", media: "application/xml", handle: (*API).certificateXML,
	},
	{
		method: "GET", path: "/standards", scope: ReadStandards, name: "listStandards",
		does: "Reference standards in the order in which they came, in pieces; of a token with sites, theirs and those that belong to no site.", query: []param{cursor, most},
		reply: StandardPage{}, handle: (*API).standards,
	},
	{
		method: "GET", path: "/standards/{id}", scope: ReadStandards, name: "getStandard",
		does: "One standard.", reply: Standard{}, handle: (*API).standard,
	},
	{
		method: "GET", path: "/orders", scope: ReadOrders, name: "listOrders",
		does: "Work orders by their numbers, in pieces; of a token with sites, the work of each there.", query: []param{cursor, most},
		reply: OrderPage{}, handle: (*API).orders,
	},
	{
		method: "POST", path: "/orders", scope: WriteOrders, name: "createOrder", writes: true,
		does: "Takes a work order in. The same order twice is once, by its number; another one of that number is refused (exists). " +
			"With Idempotency-Key the same request gets the same reply for a day.",
		body: OrderIn{}, reply: Order{}, status: []int{200, 201}, handle: (*API).createOrder,
	},
	{
		method: "GET", path: "/orders/{number}", scope: ReadOrders, name: "getOrder",
		does: "One order with its results.", reply: Order{}, handle: (*API).order,
	},
	{
		method: "PUT", path: "/orders/{number}", scope: WriteOrders, name: "putOrder", writes: true,
		does: "Takes an order in, or changes what the one of that number asks for.",
		body: OrderIn{}, reply: Order{}, status: []int{200, 201}, handle: (*API).putOrder,
	},
	{
		method: "DELETE", path: "/orders/{number}", scope: WriteOrders, name: "withdrawOrder", writes: true,
		does:   "Takes an order back. What was done for it stays. A token with sites changes no order that asks for work elsewhere, too (site).",
		status: []int{204}, handle: (*API).withdrawOrder,
	},
}

// Deps are the dependencies of the routes.
type Deps struct {
	Store   *store.Store
	Office  *office.Office
	Tokens  *Tokens
	Now     func() time.Time
	Version string
	// Hub is true at a hub, which takes no orders.
	Hub bool
}

// API answers other systems.
type API struct {
	Deps
	pace   pace
	uses   uses
	again  store.Private // replies by Idempotency-Key
	tidied time.Time     // when expired ones were last removed
}

// New returns the API for other systems.
func New(d Deps) *API {
	return &API{Deps: d, pace: pace{now: d.Now}, again: d.Store.Private("machine replies")}
}

// maxBody is many times the size of an order with mostOrdered long tags.
const maxBody = 256 << 10

// Mount adds the routes to a group, that of /api/v1.
func (a *API) Mount(g *echo.Group) {
	for i := range routes {
		r := &routes[i]
		g.Add(r.method, pathOf(r.path), a.answer(r))
	}
	g.GET("/openapi.json", func(c echo.Context) error {
		return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, Description)
	})
	g.Any("", func(c echo.Context) error { return refuse(c, echo.ErrNotFound) })
	g.Any("/*", func(c echo.Context) error { return refuse(c, otherwise(c)) })
}
