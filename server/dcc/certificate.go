package dcc

// Certificate is what a digital calibration certificate says. Numbers are decimal texts with a
// point, such as "-0.020"; dates are of the form 2006-01-02; texts are in Language. As JSON it is what
// the signed record of a certificate has.
type Certificate struct {
	Number   string `json:"number,omitzero"`   // as the laboratory counts
	ID       string `json:"id,omitzero"`       // unique in the world, such as urn:uuid:…
	Title    string `json:"title,omitzero"`    // what the paper is called
	Language string `json:"language,omitzero"` // ISO 639-1, such as en
	Country  string `json:"country,omitzero"`  // ISO 3166-1 of the laboratory, such as NL
	Record   string `json:"record,omitzero"`   // SHA-256 of the record that it was written of, in hexadecimal digits

	Order    string `json:"order,omitzero"`    // the customer's number of it
	Received string `json:"received,omitzero"` // when the item came in

	Begin      string `json:"begin,omitzero"`
	End        string `json:"end,omitzero"`
	Issued     string `json:"issued,omitzero"`
	Replaces   string `json:"replaces,omitzero"` // the ID of the certificate that it replaces, and why
	WhyInstead string `json:"why_instead,omitzero"`

	Release string `json:"release,omitzero"` // of the calculations, of the form 1.2.3

	Laboratory Party       `json:"laboratory,omitzero"`
	Customer   Party       `json:"customer,omitzero"`
	Item       Item        `json:"item,omitzero"`
	People     []Person    `json:"people,omitzero"`
	Statements []Statement `json:"statements,omitzero"`
	Work       []Work      `json:"work,omitzero"`
}

// Party is an organisation with the lines of its address.
type Party struct {
	Name  string   `json:"name,omitzero"`
	Lines []string `json:"lines,omitzero"`
}

// Item is what was calibrated.
type Item struct {
	Name       string `json:"name,omitzero"`
	Maker      string `json:"maker,omitzero"`
	Model      string `json:"model,omitzero"`
	Serial     string `json:"serial,omitzero"`
	Tag        string `json:"tag,omitzero"`
	Low        Number `json:"low,omitzero"` // of its range
	High       Number `json:"high,omitzero"`
	Resolution Number `json:"resolution,omitzero"` // what it is read to
}

// Number is a decimal text with its unit as people write it: bar, mA, °C. With Expanded it has an
// expanded uncertainty of the same unit, its coverage factor and its coverage probability.
type Number struct {
	Value       string `json:"value,omitzero"`
	Unit        string `json:"unit,omitzero"`
	Expanded    string `json:"expanded,omitzero"`
	Factor      string `json:"factor,omitzero"`
	Probability string `json:"probability,omitzero"`
}

// Person is who took part.
type Person struct {
	Name   string `json:"name,omitzero"`
	Role   string `json:"role,omitzero"`
	Signer bool   `json:"signer,omitzero"` // who answers for the certificate
}

// Statement is one thing that the certificate declares. Conformity is one of the schema's, or "".
type Statement struct {
	RefType    string `json:"ref_type,omitzero"`
	Text       string `json:"text,omitzero"`
	Conformity string `json:"conformity,omitzero"`
	Date       string `json:"date,omitzero"`
}

// Work is one measurement: as found, or as left.
type Work struct {
	Name       string      `json:"name,omitzero"`
	Status     string      `json:"status,omitzero"` // beforeAdjustment or afterAdjustment
	Methods    []Method    `json:"methods,omitzero"`
	Standards  []Standard  `json:"standards,omitzero"`
	Conditions []Condition `json:"conditions,omitzero"`
	Tables     []Table     `json:"tables,omitzero"`
	Figures    []Figure    `json:"figures,omitzero"`
}

// Method is a procedure with the documents that it follows.
type Method struct {
	RefType string   `json:"ref_type,omitzero"`
	Name    string   `json:"name,omitzero"`
	Text    string   `json:"text,omitzero"`
	Norms   []string `json:"norms,omitzero"`
}

// Standard is a reference standard and the certificate that its values rest on.
type Standard struct {
	Name        string `json:"name,omitzero"`
	Maker       string `json:"maker,omitzero"`
	Model       string `json:"model,omitzero"`
	Serial      string `json:"serial,omitzero"`
	Certificate string `json:"certificate,omitzero"`
	By          string `json:"by,omitzero"`
	Hash        string `json:"hash,omitzero"` // SHA-256 of that certificate's file, in hexadecimal digits
}

// Condition is what the surroundings were.
type Condition struct {
	RefType string `json:"ref_type,omitzero"`
	Name    string `json:"name,omitzero"`
	Value   Number `json:"value,omitzero"`
}

// Table is a series of readings, a row each; its columns are of one length.
type Table struct {
	Name    string   `json:"name,omitzero"`
	Columns []Column `json:"columns,omitzero"`
}

// Column is a quantity over the rows of a table.
type Column struct {
	RefType     string   `json:"ref_type,omitzero"`
	Name        string   `json:"name,omitzero"`
	Unit        string   `json:"unit,omitzero"`
	Values      []string `json:"values,omitzero"`
	Expanded    []string `json:"expanded,omitzero"` // one for each row, or none
	Factors     []string `json:"factors,omitzero"`
	Probability string   `json:"probability,omitzero"`
	Nominal     []string `json:"nominal,omitzero"`    // the points that were to be set, one for each row, or none
	Conformity  []string `json:"conformity,omitzero"` // one for each row, or none
	Low         []string `json:"low,omitzero"`        // limits, one for each row, or none
	High        []string `json:"high,omitzero"`
}

// Figure is one result of a test. Where it has no number, Text is what it says.
type Figure struct {
	Name       string `json:"name,omitzero"`
	Text       string `json:"text,omitzero"`
	Value      Number `json:"value,omitzero"`
	Low        string `json:"low,omitzero"` // limits in the unit of the value, "" where there is none
	High       string `json:"high,omitzero"`
	Conformity string `json:"conformity,omitzero"`
	Source     string `json:"source,omitzero"` // where the limit comes from
}
