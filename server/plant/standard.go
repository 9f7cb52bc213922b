package plant

import (
	"encoding/json"

	"gaugewright/sync/merge"
)

// Standard is a reference standard.
type Standard struct {
	Base
	Name, Serial, Manufacturer, Model      string
	Ranges                                 []Range
	CertificateNo, Calibrated, Due, Status string
	Medium, Cleaned, Kit                   string
	Where                                  Whereabouts
	Certificates                           []StandardCertificate
	Checks                                 []StandardCheck
}

// Whereabouts is where a standard is and who has it.
type Whereabouts struct {
	Place  string `json:"place"`
	Person string `json:"person"` // a user's id; "" if nobody has it
	Since  string `json:"since"`
}

// StandardCertificate is one calibration of a standard.
type StandardCertificate struct {
	ID            string          `json:"-"`
	Number        string          `json:"number"`
	Calibrated    string          `json:"calibrated"`
	Due           string          `json:"due"`
	By            string          `json:"by"`
	Accreditation string          `json:"accreditation"`
	Range         json.RawMessage `json:"range"`
	Points        json.RawMessage `json:"points"`
	Author, Wall  string          `json:"-"`
}

// StandardCheck is one check of a standard between its calibrations, in the unit of the range.
type StandardCheck struct {
	ID       string          `json:"-"`
	Date     string          `json:"date"`
	Range    json.RawMessage `json:"range"`
	Applied  Decimal         `json:"applied"`
	Shown    Decimal         `json:"shown"`
	Expanded Decimal         `json:"expanded"` // of the applied value, k = 2; "" if unknown
	With     string          `json:"with"`     // what it was compared with
	Note     string          `json:"note"`
	Author   string          `json:"-"`
}

// ReadStandard reads a standard.
func ReadStandard(s merge.State) (Standard, error) {
	r, b := open(&s, "standard")
	v := Standard{
		Base: b, Name: r.text("name"), Serial: r.text("serial"), Manufacturer: r.text("manufacturer"), Model: r.text("model"),
		CertificateNo: r.text("certificate_no"), Calibrated: r.text("calibrated"), Due: r.text("due"), Status: r.text("status"),
		Medium: r.text("medium"), Cleaned: r.text("cleaned_for_oxygen"), Kit: r.text("kit"),
	}
	r.take("ranges", &v.Ranges)
	r.take("where", &v.Where)
	r.many("certificate", func(id string, f *merge.Field) {
		c := StandardCertificate{ID: id, Author: f.Heads[0].Author, Wall: f.Heads[0].Wall}
		if r.take(f.Name, &c) {
			v.Certificates = append(v.Certificates, c)
		}
	})
	r.many("check", func(id string, f *merge.Field) {
		c := StandardCheck{ID: id, Author: f.Heads[0].Author}
		if r.take(f.Name, &c) {
			v.Checks = append(v.Checks, c)
		}
	})
	return v, r.err
}
