package machine_test

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/demo"
	"gaugewright/server/machine"
	"gaugewright/server/machine/client"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

type object = map[string]any

// described checks every reply against the description from which a client is generated.
type described struct {
	t        *testing.T
	doc      object
	schemas  *jsonschema.Compiler
	answered map[string]bool // operations and statuses that were answered
}

const docAddress = "https://plant.example/openapi.json"

func newDescribed(t *testing.T) *described {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(machine.Description))
	if err != nil {
		t.Fatal(err)
	}
	d := &described{t: t, doc: doc.(object), schemas: jsonschema.NewCompiler(), answered: map[string]bool{}}
	// A client ignores unknown fields; a reply here may have none.
	for _, s := range d.doc["components"].(object)["schemas"].(object) {
		if one := s.(object); one["properties"] != nil {
			one["additionalProperties"] = false
		}
	}
	if err := d.schemas.AddResource(docAddress, d.doc); err != nil {
		t.Fatal(err)
	}
	return d
}

// operation finds the operation of a request.
func (d *described) operation(method, path string) (op object, at string) {
	for pattern, item := range d.doc["paths"].(object) {
		form := regexp.MustCompile(`\{\w+\}`).ReplaceAllString(pattern, "[^/]+")
		if regexp.MustCompile("^/api/v1" + form + "$").MatchString(path) {
			op, _ := item.(object)[strings.ToLower(method)].(object)
			return op, pattern
		}
	}
	return nil, ""
}

func pointer(parts ...string) string {
	for i := range parts {
		parts[i] = strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D").Replace(parts[i])
	}
	return docAddress + "#/" + strings.Join(parts, "/")
}

// Do sends a request and checks the reply against the description.
func (d *described) Do(r *http.Request) (*http.Response, error) {
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		return nil, err
	}
	b, err := io.ReadAll(res.Body)
	if err != nil {
		return nil, err
	}
	_ = res.Body.Close()
	res.Body = io.NopCloser(bytes.NewReader(b))
	op, path := d.operation(r.Method, r.URL.Path)
	if op == nil {
		d.t.Errorf("%s %s is not described", r.Method, r.URL.Path)
		return res, nil
	}
	status := strconv.Itoa(res.StatusCode)
	said, ok := op["responses"].(object)[status].(object)
	if !ok {
		d.t.Errorf("%s answers %s, which is not described: %s", op["operationId"], status, b)
		return res, nil
	}
	d.answered[op["operationId"].(string)+" "+status] = true
	at := []string{"paths", path, strings.ToLower(r.Method), "responses", status}
	if said["$ref"] != nil {
		at = []string{"components", "responses", "Refused"}
		said = d.doc["components"].(object)["responses"].(object)["Refused"].(object)
	}
	content, _ := said["content"].(object)
	media, _, _ := strings.Cut(res.Header.Get("Content-Type"), ";")
	switch {
	case len(content) == 0 && len(b) > 0 || len(content) > 0 && content[media] == nil:
		d.t.Errorf("%s %s answers %s: %.100s", op["operationId"], status, media, b)
	case strings.HasSuffix(media, "json"):
		d.holds(pointer(append(at, "content", media, "schema")...), b)
	}
	return res, nil
}

func (d *described) holds(at string, b []byte) {
	d.t.Helper()
	s, err := d.schemas.Compile(at)
	if err != nil {
		d.t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err == nil {
		err = s.Validate(v)
	}
	if err != nil {
		d.t.Errorf("%s: %v in %.300s", at, err, b)
	}
}

// site is a plant for other systems to ask.
type site struct {
	t      *testing.T
	store  *store.Store
	office *office.Office
	tokens *machine.Tokens
	server *httptest.Server
	desc   *described
	now    time.Time
	secret string // of a token with all scopes
}

func newSite(t *testing.T) *site {
	t.Helper()
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	p := &site{t: t, store: s, now: time.Date(2026, 9, 14, 9, 0, 0, 0, time.UTC), desc: newDescribed(t)}
	clock := func() time.Time { return p.now }
	_, err = demo.Seed(context.Background(), s, demo.Options{Seed: 3, Today: p.now, Instruments: 8, Years: 1})
	if err != nil {
		t.Fatal(err)
	}
	keeper, err := auth.New(s, clock)
	if err != nil {
		t.Fatal(err)
	}
	p.office, p.tokens = office.New(s, keeper, clock), machine.NewTokens(s, clock)
	e := echo.New()
	machine.New(machine.Deps{
		Store: s, Office: p.office, Tokens: p.tokens, Now: clock, Version: "test",
	}).Mount(e.Group("/api/v1"))
	p.server = httptest.NewServer(e)
	t.Cleanup(p.server.Close)
	_, p.secret = p.token("planning", machine.Scopes...)
	return p
}

func noted(kind string) func(machine.Token) store.Step {
	return func(t machine.Token) store.Step { return store.Noting(store.Event{Kind: kind, About: t.Name}) }
}

func (p *site) token(name string, scopes ...machine.Scope) (machine.Token, string) {
	p.t.Helper()
	one, secret, err := p.tokens.Make(name, scopes, nil, p.now.AddDate(0, 1, 0), "", noted("token_made"))
	if err != nil {
		p.t.Fatal(err)
	}
	return one, secret
}

// client is the generated client, with a token.
func (p *site) client(secret string) *client.ClientWithResponses {
	p.t.Helper()
	c, err := client.NewClientWithResponses(
		p.server.URL+"/api/v1", client.WithHTTPClient(p.desc),
		client.WithRequestEditorFn(func(_ context.Context, r *http.Request) error {
			r.Header.Set("Authorization", "Bearer "+secret)
			return nil
		}),
	)
	if err != nil {
		p.t.Fatal(err)
	}
	return c
}

func ptr[T any](v T) *T { return &v }

func must[T any](t *testing.T) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// TestContract checks that a client generated from the description works with the plant, and that
// every reply matches it.
func TestContract(t *testing.T) {
	p := newSite(t)
	c, ctx := p.client(p.secret), t.Context()
	about := must[*client.GetAboutResponse](t)(c.GetAboutWithResponse(ctx, nil))
	if about.JSON200 == nil || about.JSON200.Token != "planning" || len(about.JSON200.Scopes) != len(machine.Scopes) {
		t.Fatalf("%+v", about.JSON200)
	}

	var tags []string
	for next := (*string)(nil); ; {
		page := must[*client.ListInstrumentsResponse](t)(
			c.ListInstrumentsWithResponse(ctx, &client.ListInstrumentsParams{Limit: ptr(3), Cursor: next}),
		).JSON200
		for _, i := range page.Items {
			tags = append(tags, i.Tag)
			one := must[*client.GetInstrumentResponse](t)(c.GetInstrumentWithResponse(ctx, i.Id, nil)).JSON200
			if one.Serial != i.Serial || one.Due != i.Due {
				t.Errorf("%+v is not %+v", one, i)
			}
		}
		if page.Next == "" {
			break
		}
		if len(page.Items) != 3 {
			t.Errorf("a piece of %d", len(page.Items))
		}
		next = &page.Next
	}
	all, err := p.office.Table(office.Query{Most: -1})
	if err != nil {
		t.Fatal(err)
	}
	if len(tags) != all.Found || len(slices.Compact(slices.Sorted(slices.Values(tags)))) != len(tags) {
		t.Errorf("%d of %d instruments, %v", len(tags), all.Found, tags)
	}

	due := must[*client.ListDueResponse](t)(
		c.ListDueWithResponse(ctx, &client.ListDueParams{By: ptr("2027-09-14")}),
	).JSON200
	if len(due.Items) == 0 || slices.ContainsFunc(due.Items, func(d client.Due) bool {
		return d.Due > "2027-09-14" || d.Overdue != (d.Due < "2026-09-14")
	}) {
		t.Errorf("%+v", due.Items)
	}

	visits := must[*client.ListVisitsResponse](t)(
		c.ListVisitsWithResponse(ctx, &client.ListVisitsParams{Status: ptr("approved"), Limit: ptr(20)}),
	).JSON200.Items
	readings, findings, papers := 0, 0, 0
	for _, v := range visits {
		one := must[*client.GetVisitResponse](t)(
			c.GetVisitWithResponse(ctx, v.Id, &client.GetVisitParams{Whole: ptr("1")}),
		).JSON200
		for _, r := range one.Runs {
			readings += len(r.Readings)
			if r.Finding != nil && r.Finding.Whole != nil && r.Finding.Verdict != "" {
				findings++
			}
		}
		papers += len(one.Certificates)
	}
	if len(visits) == 0 || readings == 0 || findings == 0 || papers == 0 {
		t.Errorf("%d visits, %d readings, %d findings, %d certificates", len(visits), readings, findings, papers)
	}

	certificates := must[*client.ListCertificatesResponse](t)(c.ListCertificatesWithResponse(ctx, nil)).JSON200.Items
	if len(certificates) == 0 {
		t.Fatal("no certificate")
	}
	first := certificates[0]
	again := must[*client.GetCertificateResponse](t)(c.GetCertificateWithResponse(ctx, first.Id, nil)).JSON200
	pdf := must[*client.GetCertificatePDFResponse](t)(c.GetCertificatePDFWithResponse(ctx, first.Id, nil))
	if again.Number != first.Number || !bytes.HasPrefix(pdf.Body, []byte("%PDF")) {
		t.Errorf("%+v, %.20q", again, pdf.Body)
	}
	xml := must[*client.GetCertificateXMLResponse](t)(c.GetCertificateXMLWithResponse(ctx, first.Id, nil))
	if (first.Xml != "") != (xml.StatusCode() == 200) {
		t.Errorf("%q: %d", first.Xml, xml.StatusCode())
	}

	standards := must[*client.ListStandardsResponse](t)(c.ListStandardsWithResponse(ctx, nil)).JSON200.Items
	if len(standards) == 0 || len(standards[0].Ranges) == 0 {
		t.Fatalf("%+v", standards)
	}
	one := must[*client.GetStandardResponse](t)(c.GetStandardWithResponse(ctx, standards[0].Id, nil)).JSON200
	if one.Name != standards[0].Name {
		t.Errorf("%+v", one)
	}
	p.orders(c, all.Rows)
	for _, item := range p.desc.doc["paths"].(object) {
		for _, op := range item.(object) {
			id := op.(object)["operationId"].(string)
			if !slices.ContainsFunc([]string{" 200", " 201", " 204"}, func(s string) bool { return p.desc.answered[id+s] }) {
				t.Errorf("%s was not asked for", id)
			}
		}
	}
}

// orders sends an order, does its work and reads the result.
func (p *site) orders(c *client.ClientWithResponses, rows []office.Gauge) {
	t, ctx := p.t, p.t.Context()
	at := slices.IndexFunc(rows, func(g office.Gauge) bool { return g.Status == office.InService })
	gauge := rows[at]
	in := client.OrderIn{
		Number: ptr("WO 4711"), Tags: []string{gauge.Tag}, Wanted: ptr("2026-10-01"),
		Priority: ptr(client.OrderInPriority("urgent")), Text: ptr("test before start-up"),
	}
	made := must[*client.CreateOrderResponse](t)(c.CreateOrderWithResponse(ctx, nil, in))
	twice := must[*client.CreateOrderResponse](t)(c.CreateOrderWithResponse(ctx, nil, in))
	if made.JSON201 == nil || twice.JSON200 == nil || twice.JSON200.Taken != made.JSON201.Taken {
		t.Fatalf("%s, then %s", made.Body, twice.Body)
	}
	other := in
	other.Text = ptr("something else")
	if a := must[*client.CreateOrderResponse](t)(c.CreateOrderWithResponse(ctx, nil, other)); a.ApplicationproblemJSON409 == nil ||
		a.ApplicationproblemJSON409.Code != "exists" {
		t.Errorf("%s", a.Body)
	}
	if a := must[*client.PutOrderResponse](t)(c.PutOrderWithResponse(ctx, "WO 4711", other)); a.JSON200 == nil ||
		a.JSON200.Text != "something else" {
		t.Errorf("%s", a.Body)
	}
	i := must[*client.GetInstrumentResponse](t)(c.GetInstrumentWithResponse(ctx, gauge.ID, nil)).JSON200
	if len(i.Orders) != 1 || i.Orders[0].Number != "WO 4711" || i.Orders[0].Priority != "urgent" || i.Orders[0].Done {
		t.Errorf("%+v", i.Orders)
	}

	drafter := plant.Drafter{Device: "ph0ne", Author: "perc", Random: strings.NewReader(strings.Repeat("abcdefghijklmnopqrstuvwxyz", 40))}
	work, _, err := drafter.New("visit", "", gauge.ID, p.now, plant.Set{Field: "instrument", Value: gauge.ID},
		plant.Set{Field: "item", Value: object{"tag": gauge.Tag}}, plant.Set{Field: "started", Value: plant.Stamp(p.now)},
		plant.Set{Field: "order", Value: object{"number": "WO 4711"}},
		plant.Set{Field: "summary", Value: object{"as_found": object{"verdict": "fail"}}})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := p.store.Add(ctx, []change.Change{work}); err != nil || len(r.Refused) > 0 {
		t.Fatal(err, r.Refused)
	}
	o := must[*client.GetOrderResponse](t)(c.GetOrderWithResponse(ctx, "WO 4711", nil)).JSON200
	if o.Done || len(o.Work) != 1 || o.Work[0].State != "begun" || len(o.Work[0].Visits) != 1 ||
		o.Work[0].Visits[0].AsFound != "fail" {
		t.Errorf("%+v", o)
	}
	list := must[*client.ListVisitsResponse](t)(
		c.ListVisitsWithResponse(ctx, &client.ListVisitsParams{Order: ptr("WO 4711")}),
	).JSON200
	if len(list.Items) != 1 || list.Items[0].Id != work.Record {
		t.Errorf("%+v", list)
	}
	if a := must[*client.ListOrdersResponse](t)(c.ListOrdersWithResponse(ctx, nil)); len(a.JSON200.Items) != 1 {
		t.Errorf("%s", a.Body)
	}
	if a := must[*client.WithdrawOrderResponse](t)(c.WithdrawOrderWithResponse(ctx, "WO 4711")); a.StatusCode() != 204 {
		t.Errorf("%s", a.Body)
	}
	i = must[*client.GetInstrumentResponse](t)(c.GetInstrumentWithResponse(ctx, gauge.ID, nil)).JSON200
	if len(i.Orders) != 0 {
		t.Errorf("%+v", i.Orders)
	}
	if a := must[*client.GetOrderResponse](t)(c.GetOrderWithResponse(ctx, "WO 4711", nil)).JSON200; a.Withdrawn == "" ||
		len(a.Work[0].Visits) != 1 {
		t.Errorf("%+v", a)
	}
}

// TestWhoseInstrument checks that a system can read whose an instrument is and the language of its
// papers, where its own record says so.
func TestWhoseInstrument(t *testing.T) {
	p := newSite(t)
	c, ctx := p.client(p.secret), t.Context()
	all, err := p.office.Table(office.Query{Most: 1})
	if err != nil {
		t.Fatal(err)
	}
	id := all.Rows[0].ID
	before := must[*client.GetInstrumentResponse](t)(c.GetInstrumentWithResponse(ctx, id, nil)).JSON200
	if len(before.Customer) != 0 || before.Language != "" {
		t.Errorf("before: %q, %q", before.Customer, before.Language)
	}
	state, ok, err := p.store.Record(id)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	drafter := plant.Drafter{Device: "desk", Author: "perc", Random: strings.NewReader(strings.Repeat("abcdefghijklmnopqrstuvwxyz", 40))}
	edit, _, err := drafter.Edit(state, p.now, plant.Set{Field: "customer", Value: "Northmoor Gas\nPier 4"},
		plant.Set{Field: "language", Value: "de"})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := p.store.Add(ctx, []change.Change{edit}); err != nil || len(r.Refused) > 0 {
		t.Fatal(err, r.Refused)
	}
	reply := must[*client.GetInstrumentResponse](t)(c.GetInstrumentWithResponse(ctx, id, nil))
	after := reply.JSON200
	if after == nil {
		t.Fatalf("%s", reply.Body)
	}
	if !slices.Equal(after.Customer, []string{"Northmoor Gas", "Pier 4"}) || after.Language != "de" {
		t.Errorf("after: %q, %q", after.Customer, after.Language)
	}
}
