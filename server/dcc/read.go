package dcc

import (
	"errors"
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strings"

	"gaugewright/calc/units"
)

// ErrRead is wrapped, with the reason, if a file is not a readable digital calibration certificate.
var ErrRead = errors.New("the certificate cannot be read")

// Incoming is what another laboratory's certificate states, for a person to confirm.
type Incoming struct {
	Number     string   `json:"number"`
	By         string   `json:"by"`
	Calibrated string   `json:"calibrated"`
	Due        string   `json:"due"`
	Item       string   `json:"item"`
	Serial     string   `json:"serial"`
	Tables     []Series `json:"tables"`
}

// Series is one series of points, rising; the numbers are decimal texts in Unit.
type Series struct {
	Name   string          `json:"name"`
	Unit   string          `json:"unit"`
	Points []IncomingPoint `json:"points"`
}

// IncomingPoint is a point: the applied value, the error there, and its expanded uncertainty.
type IncomingPoint struct {
	Applied  string `json:"applied"`
	Error    string `json:"error"`
	Expanded string `json:"expanded"`
	K        string `json:"k"`
}

// maxIncoming caps the bytes of a file.
const maxIncoming = 16 << 20

// is reports whether an element has one of some reference types.
func (e *element) is(refTypes ...string) bool {
	has := strings.Fields(e.attrs["refType"])
	return slices.ContainsFunc(has, func(r string) bool { return slices.Contains(refTypes, r) })
}

const namespace = "https://ptb.de/dcc"

var versions = regexp.MustCompile(`^3\.\d+\.\d+$`)

// Read reads a digital calibration certificate of schema 3.x from any laboratory.
//
// Takes:   the file; the unit to convert the points to.
// Gives:   its series of reference values with their errors and expanded uncertainties. What is
// missing is "": a person checks all of it before it is used.
// Refuses: ErrRead for another file, and for one without a series in a unit that converts.
func Read(b []byte, unit string) (in Incoming, err error) {
	if len(b) > maxIncoming {
		return in, fmt.Errorf("%w: it is larger than %d MiB", ErrRead, maxIncoming>>20)
	}
	top, err := read(b)
	if err != nil {
		return in, fmt.Errorf("%w: it is no XML: %w", ErrRead, err)
	}
	if top.space != namespace || top.name != "digitalCalibrationCertificate" {
		return in, fmt.Errorf("%w: its root is no dcc:digitalCalibrationCertificate", ErrRead)
	}
	if v := top.attrs["schemaVersion"]; !versions.MatchString(v) {
		return in, fmt.Errorf("%w: schemaVersion %q is none of 3.x", ErrRead, v)
	}
	to, ok := units.Find(unit)
	if !ok {
		return in, fmt.Errorf("%w: nothing is known of the unit %q", ErrRead, unit)
	}
	admin := top.child("administrativeData")
	core := admin.child("coreData")
	in = Incoming{Number: core.said("uniqueIdentifier"), Calibrated: dayOf(core.said("endPerformanceDate")),
		By: admin.said("calibrationLaboratory", "contact", "name", "content")}
	if number := identified(core, "calibrationLaboratory"); number != "" {
		in.Number = number
	}
	in.Item = admin.said("items", "item", "name", "content")
	in.Serial = identified(admin.child("items", "item"), "manufacturer")
	if s := admin.child("statements"); s != nil {
		for _, one := range s.kids {
			if one.is("basic_recalibration") {
				in.Due = dayOf(one.said("date"))
			}
		}
	}
	r := series{to: to}
	r.search(top.child("measurementResults"), "")
	if len(r.tables) == 0 {
		return in, fmt.Errorf("%w: it has no series of reference values with a value or an error beside them, in a unit "+
			"that can be turned into %s%s", ErrRead, unit, r.why())
	}
	in.Tables = r.tables
	return in, nil
}

// identified returns the value of an identification by its issuer.
func identified(e *element, issuer string) string {
	list := e.child("identifications")
	if list == nil {
		return ""
	}
	for _, one := range list.kids {
		if one.said("issuer") == issuer {
			return one.said("value")
		}
	}
	return ""
}

// figure is a decimal of the schema of reasonable length; it excludes NaN.
var figure = regexp.MustCompile(`^[-+]?(\d{1,30}(\.\d{0,30})?|\.\d{1,30})([eE][-+]?\d{1,2})?$`)

// rational reads a decimal text exactly.
func rational(text string) (*big.Rat, bool) {
	if !figure.MatchString(text) {
		return nil, false
	}
	return new(big.Rat).SetString(text)
}
