package api

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

//go:generate go test -run TestReference$ -args -write

var writeReference = flag.Bool("write", false, "write README.md from the route table")

// purposes says what each route does. The rest of README.md is read from the code.
var purposes = map[string]string{
	"GET /health/live":                               "200 while the process runs.",
	"GET /health/ready":                              "200 where this server should be sent work, else 503 with the reason: it is ending, its disk is nearly full, its database cannot be read.",
	"GET /api/version":                               "The versions of the program and the calculations, and the id of the store.",
	"POST /api/login":                                "Logs in and sets the refresh cookie. 401 second asks for code, the one of a second factor or a recovery code; 401 invited for new, a password of one's own, where password is the code of an invitation. Too many wrong passwords make it wait; Retry-After says how long.",
	"GET /api/ways":                                  "By what one can log in here besides a name and a password.",
	"POST /api/login/passkey":                        "Asks a passkey for its signature (Web Authentication): with name and password as their second factor; without them alone, and then it has to see its person. options goes to the browser.",
	"POST /api/login/passkey/finish":                 "Logs in as POST /api/login does. answer is what the browser gave, as JSON. 401 passkey_unknown for a passkey that was removed, passkey_counter where its counter went back, passkey_spent for a challenge that was answered or is older than five minutes.",
	"GET /api/openid/begin":                          "Sends the browser to the provider.",
	"GET /api/openid/back":                           "Where the provider sends the browser back to. Sets the refresh cookie and leads to /#openid, or to /#openid=WORD with the reason of a refusal.",
	"POST /api/openid/logout":                        "By which the provider says that somebody logged out there (OpenID Connect Back-Channel Logout 1.0): a form with logout_token. The log-ins here that came by it end. Each token serves once.",
	"POST /api/account/passkeys":                     "Begins a passkey; options goes to the browser.",
	"POST /api/account/passkeys/finish":              "Keeps the passkey that the browser made, under a name; the other log-ins end. recovery is given with the first second factor, this once.",
	"DELETE /api/account/passkeys/:id":               "Removes one's own passkey; the other log-ins end.",
	"PUT /api/users/:id/openid":                      "Lets a person log in by the provider who comes within seven days under that name there.",
	"DELETE /api/users/:id/openid":                   "Takes the log-in by the provider away; the log-ins that came by it end.",
	"POST /api/refresh":                              "A new access token for the refresh cookie, which is replaced. A cookie that was replaced before ends the log-in.",
	"POST /api/logout":                               "Ends the log-in of the refresh cookie.",
	"POST /api/sync":                                 "One exchange; package sync/link describes request and response. The body may be in gzip. What a revoked user sends goes to the quarantine.",
	"PUT /api/blobs/:name":                           "Keeps a blob under its SHA-256. With Content-Range it takes a piece: 202, 204 when whole, 409 where the piece does not begin where Blob-Arrived says.",
	"GET /api/blobs/:name":                           "A blob. A hub fetches it from the office when it does not have it; without a line 502 upstream.",
	"HEAD /api/blobs/:name":                          "How much of a blob has come, in Blob-Arrived.",
	"GET /api/news":                                  "A stream of server-sent events: {seq, records} each time something comes into the journal that the log-in may see. It ends with the log-in.",
	"GET /api/tree":                                  "The newest signed head of the journal and, with from, the RFC 6962 proof that the journal only grew since that size.",
	"GET /api/hub":                                   "What a hub still has to forward. upstream is empty at an office.",
	"POST /api/calc/:room":                           "A calculation by name; calc/schema/README.md lists them.",
	"GET /api/keys":                                  "The public keys by which signatures and heads are checked; gaugewright verify takes the reply as its file of keys.",
	"POST /api/keys/:id/end":                         "Takes a key out of use with a reason: one's own, or as an administrator anybody's. lost says that somebody else may have it.",
	"GET /api/account/keys":                          "One's own keys, with the device that each was made on, when it signed last and how it stands.",
	"GET /api/office/keys":                           "Everybody's keys and the laboratory's, with their states: good, unconfirmed, withdrawn, lost, and replaced of the laboratory's.",
	"POST /api/keys/:id/confirm":                     "Notes that a key which came by way of a hub is that person's.",
	"GET /api/logins":                                "One's own log-ins.",
	"DELETE /api/logins":                             "Ends all of one's other log-ins.",
	"DELETE /api/logins/:id":                         "Ends one of one's log-ins.",
	"GET /api/verify":                                "For anybody: the office's public keys and the certificates that were replaced, each by a hash, signed with the office's key (RFC 7515, flattened).",
	"GET /api/office/day":                            "The visits of a day, those that wait, and what needs an eye.",
	"GET /api/office/visits/:id":                     "A visit with its runs, history, certificates and what needs an eye.",
	"POST /api/office/visits/:id/approve":            "Approves what covers names and issues the certificate. Refused with changed, unsigned, approved or contested, and with own to whoever made, signed or corrected the visit.",
	"POST /api/office/visits/:id/return":             "Sends a signed visit back to its technician with a remark.",
	"GET /api/office/people/:id/personal":            "What of a person's record names them and is not erased yet, earlier names too.",
	"POST /api/office/people/:id/erase":              "Takes a full name, initials or a function out of a person's record for good, with a reason; they go by their account's name then.",
	"GET /api/office/visits/:id/personal":            "What of a visit shows or names a person and is not erased yet: the fields, what goes of each, and in how many changes it stands.",
	"POST /api/office/visits/:id/erase":              "Takes what shows or names a person out of fields of a visit for good, with a reason: the name and strokes of signature, photo.ID, remark.ID. The proofs stay whole; phones and hubs erase it too.",
	"POST /api/office/visits/:id/seen":               "Notes that somebody of the office has opened a signed visit as it stands; the phone says so.",
	"POST /api/office/visits/:id/reopen":             "Opens an approved visit again with a reason.",
	"POST /api/office/visits/:id/certificate":        "Issues the certificate of a visit that was approved without one.",
	"GET /api/office/visits/:id/draft.pdf":           "The paper that the visit would get as it stands, each page marked as a draft; language as of the approval. Refused with unready where nothing was judged yet.",
	"POST /api/office/certificates/read":             "Reads another laboratory's certificate of a standard, DCC XML of schema 3.x or CSV with applied, error, expanded and k, into the unit of the query; keeps the file and gives its points to be confirmed.",
	"GET /api/office/letterhead":                     "What certificates state of the laboratory.",
	"PUT /api/office/letterhead":                     "Changes it, for certificates from now on.",
	"GET /api/office/register":                       "Instruments in the order of their tags, in pieces; with due those in service that are due by that day; with name those that have it as tag or alias.",
	"GET /api/office/table":                          "The register as a table: filtered, searched, sorted, in pieces, with the values that each filter could have besides; with ids the ids of all that is found.",
	"GET /api/office/table.csv":                      "All that such a query finds as a table for spreadsheets; no cell is a formula.",
	"GET /api/office/export.zip":                     "Everything of the instruments that such a query finds, or of the whole plant where it asks for nothing: tables as CSV and JSON, documents, files, changes and their hashes, as a zip. One at a time.",
	"POST /api/office/import/try":                    "What taking a list of instruments in would do: its columns with the fields they are taken for, what becomes of each row, and the causes of what is wrong, each with what puts all of its rows right. file is in base64; without reading it is read as the last file with its headings was. It writes nothing.",
	"POST /api/office/import":                        "Takes a list of instruments in exactly as a trial with the same shown said, in one transaction, and keeps how it was read; 409 changed where it would do something else now.",
	"POST /api/office/results/try":                   "What bringing a sheet of past results in would do, test by test. file is in base64; papers are the certificates that it names, in base64 by their names. It writes nothing.",
	"POST /api/office/results":                       "Brings a sheet of past results in exactly as a trial with the same shown said, marked as brought in; 409 changed where it would do something else now.",
	"POST /api/office/instruments/:id/exchange":      "Puts another instrument in the place of one: the tag and what belongs to the place go to the one with that serial number, the visits stay with the one that they are of, which goes out of service.",
	"GET /api/office/bulk":                           "The latest changes of many instruments, the newest first.",
	"POST /api/office/bulk":                          "Gives instruments values in one transaction, exactly as a preview with the same shown said; 409 changed where it would do something else now.",
	"POST /api/office/bulk/preview":                  "What giving instruments values would do: field by field, and which cannot take them. It writes nothing.",
	"POST /api/office/bulk/:id/undo":                 "Gives the instruments of a change back what they had; what was changed since is kept and named. 409 undone where that was done before.",
	"GET /api/office/views":                          "One's own saved views of the register.",
	"PUT /api/office/views":                          "Keeps them.",
	"GET /api/office/people":                         "Everybody with access, for whoever plans their work.",
	"GET /api/office/history/:id":                    "Who changed which field of a record, when, on which device.",
	"GET /api/office/standards/:id/uses":             "The runs that rest on a standard, in pieces.",
	"GET /api/office/quarantine":                     "The changes that could not be taken, each with its reason.",
	"POST /api/office/quarantine/:id/take":           "Takes in a change that was put into the quarantine by mistake. Its author's account judges it as it is now.",
	"POST /api/office/quarantine/:id/reject":         "Closes an entry of the quarantine for good and tells its author.",
	"POST /api/office/hub/offer":                     "Lets a hub offer again what the office has refused.",
	"GET /api/office/back":                           "What came back after an older copy of the data was restored, by person and occasion.",
	"GET /api/office/devices":                        "The devices: last contact, what waits on them, clock, version. These notes are not synced.",
	"POST /api/office/unsent":                        "Takes in a file of unsent work. Each change is judged by its author's account; the same file twice is once.",
	"GET /api/office/contested":                      "Records with fields that have more than one value.",
	"GET /api/office/contested/:id":                  "The contested fields of a record with their values.",
	"POST /api/office/contested/:id":                 "Settles a field by a change that has seen all its values; 409 changed where others have come meanwhile.",
	"POST /api/labels":                               "A PDF of QR labels for instruments; dated ones say when each is due, and its status.",
	"POST /api/labels/defects":                       "A PDF of defect tags: out of service, reason, code, who, when, and the QR code. 409 in_service names an instrument that was not taken out.",
	"GET /api/labels/:file":                          "One label: ID.svg or ID.png.",
	"GET /api/certificates/:file":                    "A certificate: ID.pdf; its form for machines, ID.xml; its signed record, ID.record; or all that it rests on, ID.json, by which gaugewright verify checks it without the office.",
	"GET /api/users":                                 "The accounts.",
	"POST /api/users":                                "Adds an account. Without a password it is invited: code is what its owner logs in with to choose one. name is for the log-in, full and function stand on certificates.",
	"PUT /api/users/:id/sites":                       "Sets the sites whose records a technician gets.",
	"PUT /api/users/:id/person":                      "Says who somebody is: the full name, and the function in the laboratory, that certificates from now on state. \"\" as function leaves it to the role.",
	"PUT /api/users/:id/role":                        "Gives an account another role; its log-ins end.",
	"POST /api/users/:id/revoke":                     "Ends an account and its log-ins.",
	"POST /api/users/:id/restore":                    "Gives a revoked account back.",
	"POST /api/users/:id/password":                   "Sets a new password.",
	"GET /api/account":                               "One's own account: second says whether it has a second factor, codes whether a device shows codes, wanted whether its role needs one that it lacks.",
	"POST /api/account/password":                     "Gives oneself another password; the other log-ins end. 403 password where the old one is wrong.",
	"POST /api/account/second":                       "Begins a second factor (RFC 6238): its secret, its otpauth address and that as a QR code.",
	"POST /api/account/second/confirm":               "Lets the second factor count whose device shows the code. The recovery codes are given this once.",
	"POST /api/account/second/end":                   "Takes one's own second factor away; code is one of its device or a recovery code.",
	"POST /api/users/:id/invite":                     "Ends a password and the log-ins, and gives a code with which its owner chooses another within seven days.",
	"GET /api/users/:id/logins":                      "The log-ins of a person.",
	"DELETE /api/users/:id/logins":                   "Ends all log-ins of a person.",
	"DELETE /api/users/:id/second":                   "Takes away every second factor of a person whose devices are lost: codes, passkeys and recovery codes.",
	"GET /api/events":                                "The event log, the newest first, in pieces; more is the number to go on before.",
	"GET /api/events.csv":                            "The whole event log as a table for spreadsheets; no cell is a formula.",
	"DELETE /api/blobs/:name":                        "Erases a photo of a visit for good, with a reason; the record keeps its hash, and asking for it is answered 410 erased.",
	"GET /api/machines/tokens":                       "The tokens by which other systems are let in at /api/v1, the newest first, without their secrets; scopes is what a token can be for. The addresses there are described by /api/v1/openapi.json.",
	"POST /api/machines/tokens":                      "Makes a token with scopes, until the end of a day. secret is given this once.",
	"DELETE /api/machines/tokens/:id":                "Ends a token at once, or forgets one that is over.",
	"GET /api/calendar/:file":                        "SECRET.ics: the calendar (RFC 5545) of a feed, for whoever has its address.",
	"GET /api/feeds":                                 "The calendars that are given out, without their addresses.",
	"POST /api/feeds":                                "Makes a calendar: the rounds of a person, the due dates of a site, or all. address is given this once.",
	"DELETE /api/feeds/:id":                          "Ends a calendar: its address finds nothing any more.",
	"GET /api/mail":                                  "Whether and how mail goes, and what everybody with access wants to be told.",
	"PUT /api/mail/people/:id":                       "Says at which address, in which language and of what somebody is told; \"\" as address is nothing.",
	"POST /api/mail/people/:id/try":                  "Hands one message to the mail server now. 409 mail_off where none is configured; 502 mail with what it says.",
	"GET /api/hooks":                                 "Where other systems are told what happens, without the secrets; kinds is what can be told.",
	"POST /api/hooks":                                "Makes an endpoint; no events are all. secret, by which its messages are signed (Standard Webhooks), is given this once.",
	"DELETE /api/hooks/:id":                          "Forgets an endpoint with its messages.",
	"POST /api/hooks/:id/resume":                     "Puts an endpoint into use again that was put out of use; what waits for it is sent.",
	"GET /api/hooks/messages":                        "What was sent, the newest first, in pieces.",
	"POST /api/hooks/messages":                       "Sends a message once more.",
	"POST /api/backup":                               "A gzipped tar of the store: gaugewright.db, blobs/SHA256, and contents.json with the size and SHA-256 of each.",
	"GET /api/office/standards":                      "The standards as they stand, those that need somebody first, then by their due date.",
	"GET /api/office/standards/:id":                  "One standard: its certificates with drift and En, the control charts of its checks, the others of its kit.",
	"PUT /api/office/standards/:id/where":            "Says where a standard is, who has it since when, and which kit it belongs to.",
	"POST /api/office/standards/:id/checks":          "Keeps a check of a standard between two calibrations. of is the place among its ranges.",
	"DELETE /api/office/standards/:id/checks/:check": "Takes a check back that was entered by mistake; it stays in the history.",
	"POST /api/office/standards/:id/lookbacks":       "Opens a look-back on a standard that was out, and judges the results that rest on it in the background.",
	"GET /api/office/lookbacks":                      "The look-backs, those with something left to do first.",
	"GET /api/office/lookbacks/:id":                  "A look-back: how far it has come, the instruments that are touched with their decisions, and what could not be read.",
	"POST /api/office/lookbacks/:id/begin":           "Judges again where the program ended meanwhile. 409 busy where it is done or under way.",
	"POST /api/office/lookbacks/:id/decide":          "Keeps what follows for some instruments: way none, tell, recall or recalibrate, with reason, owner and day.",
	"POST /api/office/lookbacks/:id/close":           "Says what was done about some instruments. 409 undecided where nobody decided.",
	"GET /api/office/lookbacks/:id/:file":            "report.pdf, report.csv, report.xlsx or letters.pdf. 409 nobody where nobody is to be told.",
	"GET /api/office/queue":                          "What waits for the office: visits that are signed, sent back or opened again. sort is need, signed, tag, area or person; the other values filter.",
	"GET /api/office/state":                          "How the plant stands today: counts, areas, weeks, and what needs somebody.",
	"GET /api/office/reports/:file":                  "state.pdf, or month-2026-03 as .pdf, .csv or .xlsx.",
	"GET /api/office/instruments/:id/dossier.pdf":    "Everything of an instrument as one PDF with its certificates, photos and files attached.",
	"GET /api/office/competences":                    "Everybody with what they are authorised for.",
	"POST /api/users/:id/competences":                "Keeps what somebody is authorised for; id is the entry that it takes the place of, empty for a new one.",
	"DELETE /api/users/:id/competences/:entry":       "Withdraws an authorisation; it stays in the history.",
	"GET /api/office/table.xlsx":                     "What table.csv gives, as a spreadsheet.",
	"GET /api/events.xlsx":                           "What events.csv gives, as a spreadsheet.",
}

const guest = "anybody"

// route is a line of the table in New.
type route struct{ method, path, handler, who string }

// TestReference holds README.md to the route table, the bodies that handlers decode and the codes
// of refusals. go generate writes it.
func TestReference(t *testing.T) {
	p := source(t)
	var b strings.Builder
	b.WriteString("# The HTTP API\n\nGenerated from the route table in `api.go` by `go generate ./server/api`; do not edit.\n\n" +
		"Bodies and replies are JSON unless said otherwise. An access token goes into the header\n" +
		"`Authorization: Bearer …`. Every refusal is `{\"error\":{\"code\",\"field\",\"message\"}}`.\n" +
		"A part of a path that begins with a colon is a value.\n")
	told := map[string]bool{}
	for _, r := range p.routes(t) {
		key := r.method + " " + r.path
		told[key] = true
		if purposes[key] == "" {
			t.Errorf("%s has no sentence in the table purposes of reference_test.go", key)
		}
		fmt.Fprintf(&b, "\n## %s\n\n%s\n\n- For: %s\n", key, purposes[key], r.who)
		f := p.read(r.handler)
		list(&b, "Query", f.query)
		list(&b, "Body", f.body)
		list(&b, "Reply", f.reply)
	}
	for key := range purposes {
		if !told[key] {
			t.Errorf("the table purposes tells of %s, which is no route", key)
		}
	}
	b.WriteString("\n## Refusals\n\n| status | codes |\n|---|---|\n")
	codes := map[int][]string{
		400: {"syntax", "unknown_field", "missing", "shape"}, 404: {"not_found"}, 405: {"method"},
		413: {"too_large"}, 500: {"internal"}, 507: {"full"},
	}
	for _, s := range statuses {
		if !slices.Contains(codes[s.status], s.code) {
			codes[s.status] = append(codes[s.status], s.code)
		}
	}
	for status := 400; status < 600; status++ {
		if len(codes[status]) > 0 {
			slices.Sort(codes[status])
			fmt.Fprintf(&b, "| %d | `%s` |\n", status, strings.Join(codes[status], "` `"))
		}
	}
	b.WriteString("\n429 and 503 have `Retry-After`, 405 has `Allow`. Nothing of a request that got 507 is kept.\n")
	if *writeReference {
		if err := os.WriteFile("README.md", []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	have, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	if string(have) != b.String() {
		t.Error("server/api/README.md is not what the route table says; run: go generate ./server/api")
	}
}

func list(b *strings.Builder, name string, items []string) {
	if len(items) > 0 {
		fmt.Fprintf(b, "- %s: %s\n", name, strings.Join(items, ", "))
	}
}

// code is the package's own source, without tests, and the types of package office, which replies
// are made of.
type code struct {
	funcs map[string]*ast.FuncDecl
	types map[string]ast.Expr
}

func source(t *testing.T) code {
	t.Helper()
	c := code{map[string]*ast.FuncDecl{}, map[string]ast.Expr{}}
	for _, f := range parsed(t, ".") {
		for _, d := range f.Decls {
			if d, ok := d.(*ast.FuncDecl); ok && (receiver(d) == "server" || d.Recv == nil) {
				c.funcs[d.Name.Name] = d
			}
		}
		c.note("", f)
	}
	for _, name := range []string{"office", "desk", "plant"} {
		for _, f := range parsed(t, "../"+name) {
			c.note(name+".", f)
		}
	}
	return c
}

// note keeps the types of a file, under their names behind a prefix.
func (c code) note(prefix string, f *ast.File) {
	for _, d := range f.Decls {
		if d, ok := d.(*ast.GenDecl); ok {
			for _, s := range d.Specs {
				if s, ok := s.(*ast.TypeSpec); ok {
					c.types[prefix+s.Name.Name] = s.Type
				}
			}
		}
	}
}

// parsed reads the Go files of a folder, without tests.
func parsed(t *testing.T, folder string) (all []*ast.File) {
	t.Helper()
	files, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		one, err := parser.ParseFile(token.NewFileSet(), folder+"/"+f.Name(), nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, one)
	}
	return all
}

func receiver(f *ast.FuncDecl) string {
	if f.Recv == nil {
		return ""
	}
	if star, ok := f.Recv.List[0].Type.(*ast.StarExpr); ok {
		return name(star.X)
	}
	return name(f.Recv.List[0].Type)
}

// name is the last part of a name: Reviewer of auth.Reviewer.
func name(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

// qualified is a name with its package: office.Letterhead.
func qualified(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return name(e.X) + "." + e.Sel.Name
	}
	return ""
}

func literal(e ast.Expr) (string, bool) {
	l, ok := e.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(l.Value)
	return s, err == nil
}

// routes reads the table in New: groups with their prefix, variables that hold the roles, routes.
func (c code) routes(t *testing.T) []route {
	t.Helper()
	table := c.funcs["New"]
	if table == nil {
		t.Fatal("no function New")
	}
	prefix, inherited, roles := map[string]string{"e": ""}, map[string]string{}, map[string]string{}
	whose := func(args []ast.Expr) string {
		who := ""
		for _, a := range args {
			if w := allowed(a, roles); w != "" {
				who = w
			}
		}
		return who
	}
	var all []route
	ast.Inspect(table.Body, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.AssignStmt:
			call, ok := n.Rhs[0].(*ast.CallExpr)
			if !ok || len(n.Lhs) != 1 {
				return true
			}
			to := name(n.Lhs[0])
			if on, ok := call.Fun.(*ast.SelectorExpr); ok && on.Sel.Name == "Group" {
				if path, ok := literal(call.Args[0]); ok {
					prefix[to] = prefix[name(on.X)] + path
					inherited[to] = whose(call.Args[1:])
					if inherited[to] == "" {
						inherited[to] = inherited[name(on.X)]
					}
				}
			} else if w := allowed(call, roles); w != "" {
				roles[to] = w
			}
		case *ast.CallExpr:
			on, ok := n.Fun.(*ast.SelectorExpr)
			if !ok || !slices.Contains([]string{"GET", "HEAD", "POST", "PUT", "DELETE", "PATCH"}, on.Sel.Name) {
				return true
			}
			if _, known := prefix[name(on.X)]; !known {
				return true
			}
			path, ok := literal(n.Args[0])
			if !ok {
				return true
			}
			r := route{on.Sel.Name, prefix[name(on.X)] + path, name(n.Args[1]), whose(n.Args[2:])}
			if r.who == "" {
				r.who = inherited[name(on.X)]
			}
			if r.who == "" {
				r.who = guest
			}
			if r.handler == "sync" {
				r.who = "whoever has a token"
			}
			all = append(all, r)
		}
		return true
	})
	if len(all) < 30 {
		t.Fatalf("%d routes: the table is not read", len(all))
	}
	return all
}

// allowed returns the roles of s.allow(…), of a variable that holds it, or of what wraps either.
func allowed(e ast.Expr, roles map[string]string) string {
	if id, ok := e.(*ast.Ident); ok {
		return roles[id.Name]
	}
	call, ok := e.(*ast.CallExpr)
	if !ok {
		return ""
	}
	if name(call.Fun) == "allow" {
		var names []string
		for _, a := range call.Args {
			names = append(names, strings.ToLower(name(a)))
		}
		if len(names) == 1 && names[0] == "roles" {
			return "every role, hubs too"
		}
		return strings.Join(names, ", ")
	}
	for _, a := range call.Args {
		if w := allowed(a, roles); w != "" {
			return w
		}
	}
	return ""
}

type facts struct{ query, body, reply []string }

// read collects what a handler and the methods it calls read and reply.
func (c code) read(handler string) facts {
	var f facts
	seen := map[string]bool{}
	var walk func(string, int)
	add := func(to *[]string, item string) {
		if item != "" && !slices.Contains(*to, item) {
			*to = append(*to, item)
		}
	}
	walk = func(fn string, depth int) {
		d := c.funcs[fn]
		if d == nil || d.Body == nil || seen[fn] || depth > 2 {
			return
		}
		seen[fn] = true
		vars := map[string]ast.Expr{}
		ast.Inspect(d.Body, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ValueSpec:
				for _, v := range n.Names {
					vars[v.Name] = n.Type
				}
			case *ast.CallExpr:
				switch called := name(n.Fun); called {
				case "decode", "ownBody":
					if u, ok := n.Args[1].(*ast.UnaryExpr); ok {
						add(&f.body, c.shape(vars[name(u.X)]))
					}
				case "QueryParam":
					if q, ok := literal(n.Args[0]); ok {
						add(&f.query, "`"+q+"`")
					}
				case "JSON":
					if len(n.Args) == 2 {
						add(&f.reply, status(n.Args[0])+c.reply(n.Args[1], vars))
					}
				case "NoContent":
					add(&f.reply, strings.TrimSpace(status(n.Args[0])))
				case "Blob", "Stream":
					if len(n.Args) == 3 {
						add(&f.reply, status(n.Args[0])+media(n.Args[1]))
					}
				default:
					if on, ok := n.Fun.(*ast.SelectorExpr); ok && name(on.X) == "s" {
						walk(called, depth+1)
					}
				}
			}
			return true
		})
	}
	walk(handler, 0)
	return f
}

func media(e ast.Expr) string {
	switch name(e) {
	case "MIMEApplicationJSON":
		return "JSON"
	case "MIMEOctetStream":
		return "bytes"
	}
	if s, ok := literal(e); ok {
		return s
	}
	return "a file"
}

func status(e ast.Expr) string {
	return map[string]string{
		"StatusOK": "200 ", "StatusCreated": "201 ", "StatusAccepted": "202 ", "StatusNoContent": "204 ",
		"StatusNotFound": "404 ",
	}[name(e)]
}

// shape writes the fields of a type: `{covers: [text]}`.
func (c code) shape(e ast.Expr) string {
	if known := c.types[qualified(e)]; known != nil {
		e = known
	}
	s, ok := e.(*ast.StructType)
	if !ok {
		return ""
	}
	var fields []string
	for _, f := range s.Fields.List {
		if len(f.Names) == 0 {
			fields = append(fields, "and the fields of "+name(f.Type))
		}
		for i := range f.Names {
			fields = append(fields, tagged(f, i)+": "+c.kind(f.Type))
		}
	}
	return "`{" + strings.Join(fields, ", ") + "}`"
}

// tagged is the name of a field in JSON; a decoder takes names without a tag in any case of
// letters.
func tagged(f *ast.Field, i int) string {
	if f.Tag != nil {
		_, rest, _ := strings.Cut(f.Tag.Value, `json:"`)
		tag, _, _ := strings.Cut(rest, `"`)
		if named, options, _ := strings.Cut(tag, ","); named != "" {
			if strings.Contains(options, "omit") {
				named += "?"
			}
			return named
		}
	}
	return strings.ToLower(f.Names[i].Name)
}

func (c code) kind(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.ArrayType:
		return "[" + c.kind(e.Elt) + "]"
	case *ast.StarExpr:
		return c.kind(e.X)
	case *ast.StructType:
		return strings.Trim(c.shape(e), "`")
	case *ast.MapType:
		return "{" + c.kind(e.Key) + ": " + c.kind(e.Value) + "}"
	}
	switch n := name(e); n {
	case "string":
		return "text"
	case "int", "int64", "uint64", "float64":
		return "number"
	case "bool":
		return "true or false"
	case "RawMessage":
		return "JSON"
	default:
		if s := c.shape(e); s != "" {
			return strings.Trim(s, "`")
		}
		return strings.ToLower(n)
	}
}

// reply writes the names of a reply's fields.
func (c code) reply(e ast.Expr, vars map[string]ast.Expr) string {
	if l, ok := e.(*ast.CompositeLit); ok {
		if _, isMap := l.Type.(*ast.MapType); isMap {
			var names []string
			for _, el := range l.Elts {
				pair, ok := el.(*ast.KeyValueExpr)
				if !ok {
					continue
				}
				key, _ := literal(pair.Key)
				if inner, ok := pair.Value.(*ast.CompositeLit); ok {
					if _, nested := inner.Type.(*ast.MapType); nested {
						key += ": " + strings.Trim(c.reply(inner, vars), "`")
					}
				}
				names = append(names, key)
			}
			return "`{" + strings.Join(names, ", ") + "}`"
		}
		return c.shape(l.Type)
	}
	if s := c.shape(vars[name(e)]); s != "" {
		return s
	}
	return "JSON"
}
