package machine

import "encoding/json"

// The shapes of bodies and replies. Numbers that somebody typed are decimal texts, as they were
// typed; those that were calculated are numbers. Moments are RFC 3339, days YYYY-MM-DD.

// Span is what an instrument or a standard measures.
type Span struct {
	Low  string `json:"low"`
	High string `json:"high"`
	Unit string `json:"unit"`
	Mode string `json:"mode" jsonschema:"description=gauge or absolute or differential"`
}

// Instrument is a device under test.
type Instrument struct {
	ID             string `json:"id"`
	Tag            string `json:"tag" jsonschema:"description=the place in the plant"`
	Serial         string `json:"serial" jsonschema:"description=the object at that place"`
	Description    string `json:"description"`
	Kind           string `json:"kind"`
	Manufacturer   string `json:"manufacturer"`
	Model          string `json:"model"`
	Range          Span   `json:"range"`
	Area           string `json:"area"`
	Place          string `json:"place"`
	Method         string `json:"method" jsonschema:"description=name of the kind of work"`
	IntervalMonths int    `json:"interval_months" jsonschema:"description=0 where there is none"`
	Due            string `json:"due" jsonschema:"description=day of the next test; empty where there is none"`
	Status         string `json:"status" jsonschema:"description=in service or out of service"`
	Tested         string `json:"tested" jsonschema:"description=day of the latest test; empty for never"`
	Verdict        string `json:"verdict" jsonschema:"description=as found at the latest test"`
}

// InstrumentPage is a piece of the register.
type InstrumentPage struct {
	Items []Instrument `json:"items"`
	Next  string       `json:"next" jsonschema:"description=cursor of the next piece; empty at the end"`
}

// OpenOrder is an order on an instrument.
type OpenOrder struct {
	Number   string `json:"number"`
	Wanted   string `json:"wanted"`
	Priority string `json:"priority"`
	Done     bool   `json:"done"`
}

// InstrumentDetail is an instrument with what only its own record says.
type InstrumentDetail struct {
	Instrument
	Resolution string      `json:"resolution"`
	Medium     string      `json:"medium"`
	Note       string      `json:"note"`
	Customer   []string    `json:"customer" jsonschema:"description=whose it is: lines of name and address; empty where it is that of its site"`
	Language   string      `json:"language" jsonschema:"description=of its papers in ISO 639-1; empty where it is that of its site"`
	Cautions   []string    `json:"cautions"`
	Aliases    []string    `json:"aliases"`
	Orders     []OpenOrder `json:"orders"`
}

// Due is an instrument whose test is due.
type Due struct {
	Instrument string `json:"instrument" jsonschema:"description=id"`
	Tag        string `json:"tag"`
	Serial     string `json:"serial"`
	Kind       string `json:"kind"`
	Area       string `json:"area"`
	Place      string `json:"place"`
	Method     string `json:"method"`
	Due        string `json:"due"`
	Overdue    bool   `json:"overdue"`
}

// DuePage is a piece of the due work.
type DuePage struct {
	Items []Due  `json:"items"`
	Next  string `json:"next"`
}

// Visit is one instrument on one occasion, in a list.
type Visit struct {
	ID         string `json:"id"`
	Instrument string `json:"instrument" jsonschema:"description=id of the instrument or standard"`
	Tag        string `json:"tag" jsonschema:"description=as it was on the day"`
	Serial     string `json:"serial"`
	Started    string `json:"started"`
	Status     string `json:"status" jsonschema:"enum=open,enum=signed,enum=returned,enum=approved,enum=reopened"`
	Person     string `json:"person" jsonschema:"description=name of who did it"`
	Method     string `json:"method"`
	Order      string `json:"order" jsonschema:"description=number of the order that it was done for"`
	AsFound    string `json:"as_found" jsonschema:"description=verdict; empty where there is none"`
	AsLeft     string `json:"as_left"`
	Adjusted   bool   `json:"adjusted"`
	NotTested  string `json:"not_tested" jsonschema:"description=why it ended without a test"`
	SignedBy   string `json:"signed_by"`
	SignedAt   string `json:"signed_at"`
	ApprovedBy string `json:"approved_by"`
	ApprovedAt string `json:"approved_at"`
}

// VisitPage is a piece of the visits.
type VisitPage struct {
	Items []Visit `json:"items"`
	Next  string  `json:"next"`
}

// Reading is a value as it was typed or picked up.
type Reading struct {
	ID         string `json:"id"`
	Step       string `json:"step"`
	Of         string `json:"of" jsonschema:"description=applied; indicated; before_tap; answer; settle; trace"`
	Value      string `json:"value" jsonschema:"description=as it was typed; of a trace the SHA-256 of its file"`
	Unit       string `json:"unit"`
	At         string `json:"at" jsonschema:"description=by the clock of the device"`
	By         string `json:"by"`
	Stands     bool   `json:"stands" jsonschema:"description=false where a correction took its place"`
	Supersedes string `json:"supersedes" jsonschema:"description=id of the reading that it corrects"`
	Reason     string `json:"reason" jsonschema:"description=why it was corrected or kept in spite of a doubt"`
}

// Finding is what the evaluation says of a run.
type Finding struct {
	Verdict  string          `json:"verdict" jsonschema:"description=pass; fail; conditional-pass; conditional-fail; undecided"`
	Reason   string          `json:"reason" jsonschema:"description=why it is undecided"`
	Complete bool            `json:"complete"`
	Readings []FoundReading  `json:"readings"`
	Results  []FoundResult   `json:"results" jsonschema:"description=of other kinds of work than a gauge's"`
	Warnings []string        `json:"warnings"`
	Calc     string          `json:"calc" jsonschema:"description=version of the calculations"`
	Whole    json.RawMessage `json:"whole,omitempty" jsonschema:"type=object,description=the finding as it is kept; where it was asked for"`
}

// FoundReading is one reading after all corrections, in the unit of the instrument's range.
type FoundReading struct {
	Step      string   `json:"step"`
	Series    int      `json:"series"`
	Direction string   `json:"direction"`
	Applied   *float64 `json:"applied,omitempty"`
	Indicated *float64 `json:"indicated,omitempty"`
	Error     *float64 `json:"error,omitempty"`
	LimitLow  *float64 `json:"limit_low,omitempty"`
	LimitHigh *float64 `json:"limit_high,omitempty"`
	Verdict   string   `json:"verdict"`
}

// FoundResult is one figure of a finding.
type FoundResult struct {
	Name      string   `json:"name"`
	Unit      string   `json:"unit"`
	Value     *float64 `json:"value,omitempty"`
	LimitLow  *float64 `json:"limit_low,omitempty"`
	LimitHigh *float64 `json:"limit_high,omitempty"`
	Expanded  *float64 `json:"expanded,omitempty" jsonschema:"description=expanded uncertainty"`
	Verdict   string   `json:"verdict"`
	Reason    string   `json:"reason"`
}

// Run is one pass through a plan.
type Run struct {
	ID       string    `json:"id"`
	Label    string    `json:"label" jsonschema:"description=as found; as left; repeat"`
	Closed   string    `json:"closed"`
	Stopped  string    `json:"stopped" jsonschema:"description=why it ended early"`
	Readings []Reading `json:"readings"`
	Finding  *Finding  `json:"finding,omitempty"`
}

// VisitDetail is a visit with everything that was typed and found.
type VisitDetail struct {
	Visit
	Range        Span          `json:"range"`
	Standard     string        `json:"standard" jsonschema:"description=id of the standard that was used"`
	StandardName string        `json:"standard_name"`
	TemperatureC string        `json:"temperature_c"`
	PressureHPa  string        `json:"pressure_hpa"`
	Humidity     string        `json:"humidity_percent"`
	Remarks      []string      `json:"remarks"`
	Runs         []Run         `json:"runs"`
	Certificates []Certificate `json:"certificates"`
}

// Certificate is the issued document of an approved visit.
type Certificate struct {
	ID         string `json:"id"`
	Number     string `json:"number"`
	Issued     string `json:"issued"`
	Visit      string `json:"visit" jsonschema:"description=id"`
	Replaces   string `json:"replaces" jsonschema:"description=number of the certificate whose place it takes"`
	ReplacedBy string `json:"replaced_by"`
	Why        string `json:"why"`
	Different  string `json:"different"`
	InForce    bool   `json:"in_force"`
	PDF        string `json:"pdf" jsonschema:"description=path of its document"`
	XML        string `json:"xml" jsonschema:"description=path of its form for machines (DCC); empty where it has none"`
}

// CertificatePage is a piece of the certificates.
type CertificatePage struct {
	Items []Certificate `json:"items"`
	Next  string        `json:"next"`
}

// Standard is a reference.
type Standard struct {
	ID            string `json:"id"`
	Name          string `json:"name"`
	Serial        string `json:"serial"`
	Manufacturer  string `json:"manufacturer"`
	Model         string `json:"model"`
	Ranges        []Span `json:"ranges"`
	CertificateNo string `json:"certificate_no"`
	Calibrated    string `json:"calibrated"`
	Due           string `json:"due"`
	Status        string `json:"status"`
}

// StandardPage is a piece of the standards.
type StandardPage struct {
	Items []Standard `json:"items"`
	Next  string     `json:"next"`
}

// OrderIn is work that is asked for.
type OrderIn struct {
	Number   string   `json:"number,omitempty" jsonschema:"description=the order's number in the system that asks"`
	Tags     []string `json:"tags" jsonschema:"minItems=1,description=the instruments by their tags"`
	Text     string   `json:"text,omitempty" jsonschema:"description=what is to be done"`
	Wanted   string   `json:"wanted,omitempty" jsonschema:"description=day by which"`
	Priority string   `json:"priority,omitempty" jsonschema:"enum=urgent,enum=soon,enum=normal"`
}

// Order is an order as it is kept.
type Order struct {
	Number    string      `json:"number"`
	Text      string      `json:"text"`
	Wanted    string      `json:"wanted"`
	Priority  string      `json:"priority" jsonschema:"enum=urgent,enum=soon,enum=normal"`
	From      string      `json:"from" jsonschema:"description=name of the token that brought it"`
	Taken     string      `json:"taken"`
	Withdrawn string      `json:"withdrawn" jsonschema:"description=when it was taken back; empty while it stands"`
	Done      bool        `json:"done" jsonschema:"description=the work at all its instruments is approved"`
	Work      []OrderWork `json:"work"`
}

// OrderWork is what became of an order at one of its instruments.
type OrderWork struct {
	Instrument string       `json:"instrument" jsonschema:"description=id"`
	Tag        string       `json:"tag"`
	State      string       `json:"state" jsonschema:"enum=open,enum=begun,enum=signed,enum=returned,enum=approved,enum=reopened"`
	Visits     []OrderVisit `json:"visits"`
}

// OrderVisit is a result of an order.
type OrderVisit struct {
	ID           string        `json:"id"`
	Started      string        `json:"started"`
	Status       string        `json:"status"`
	AsFound      string        `json:"as_found"`
	AsLeft       string        `json:"as_left"`
	Certificates []Certificate `json:"certificates"`
}

// OrderPage is a piece of the orders.
type OrderPage struct {
	Items []Order `json:"items"`
	Next  string  `json:"next"`
}

// Site is a site that a token is given.
type Site struct {
	ID   string `json:"id"`
	Code string `json:"code"`
	Name string `json:"name"`
}

// About says what answers, and what the token may do.
type About struct {
	Version string   `json:"version"`
	Token   string   `json:"token" jsonschema:"description=name of the token"`
	Scopes  []string `json:"scopes"`
	Sites   []Site   `json:"sites" jsonschema:"description=the sites whose records it is given; empty for the whole plant"`
	Until   string   `json:"until" jsonschema:"description=when the token runs out"`
}
