package dcc

// Certificate is the content of a digital calibration certificate. Numbers are decimal texts with a
// point, such as "-0.020"; dates have the form 2006-01-02; texts are in Language. Its JSON form is
// part of the signed record of a certificate.
type Certificate struct {
	Number   string `json:"number,omitzero"`   // the laboratory's number
	ID       string `json:"id,omitzero"`       // unique in the world, such as urn:uuid:…
	Title    string `json:"title,omitzero"`    // the title on paper
	Language string `json:"language,omitzero"` // ISO 639-1, such as en
	Country  string `json:"country,omitzero"`  // ISO 3166-1 of the laboratory, such as NL
	Record   string `json:"record,omitzero"`   // SHA-256, in hexadecimal digits, of the record it was written from

	Order    string `json:"order,omitzero"`    // the customer's order number
	Received string `json:"received,omitzero"` // when the item arrived

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
	Resolution Number `json:"resolution,omitzero"` // of a reading
}

// Number is a decimal text with its unit as people write it: bar, mA, °C. With Expanded it has an
// expanded uncertainty in the same unit, its coverage factor and its coverage probability.
type Number struct {
	Value       string `json:"value,omitzero"`
	Unit        string `json:"unit,omitzero"`
	Expanded    string `json:"expanded,omitzero"`
	Factor      string `json:"factor,omitzero"`
	Probability string `json:"probability,omitzero"`
}

// Person is a person who took part.
type Person struct {
	Name   string `json:"name,omitzero"`
	Role   string `json:"role,omitzero"`
	Signer bool   `json:"signer,omitzero"` // responsible for the certificate
}

// Statement is a declaration of the certificate. Conformity is one of the schema's words, or "".
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

// Standard is a reference standard and the certificate that its values come from.
type Standard struct {
	Name        string `json:"name,omitzero"`
	Maker       string `json:"maker,omitzero"`
	Model       string `json:"model,omitzero"`
	Serial      string `json:"serial,omitzero"`
	Certificate string `json:"certificate,omitzero"`
	By          string `json:"by,omitzero"`
	Hash        string `json:"hash,omitzero"` // SHA-256 of that certificate's file, in hexadecimal digits
}

// Condition is a condition of the surroundings.
type Condition struct {
	RefType string `json:"ref_type,omitzero"`
	Name    string `json:"name,omitzero"`
	Value   Number `json:"value,omitzero"`
}

// Table is a series of readings, one per row; its columns have the same length.
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
	Nominal     []string `json:"nominal,omitzero"`    // the points to set, one for each row, or none
	Conformity  []string `json:"conformity,omitzero"` // one for each row, or none
	Low         []string `json:"low,omitzero"`        // limits, one for each row, or none
	High        []string `json:"high,omitzero"`
}

// Figure is one result of a test. Without a number, Text is the result.
type Figure struct {
	Name       string `json:"name,omitzero"`
	Text       string `json:"text,omitzero"`
	Value      Number `json:"value,omitzero"`
	Low        string `json:"low,omitzero"` // limits in the unit of the value, "" for none
	High       string `json:"high,omitzero"`
	Conformity string `json:"conformity,omitzero"`
	Source     string `json:"source,omitzero"` // source of the limit
}
