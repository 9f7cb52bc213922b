package register

import (
	"errors"
	"fmt"
	"slices"
)

// Code is the kind of a fault, by which a repair is chosen.
type Code string

// The kinds of fault.
const (
	Missing  Code = "missing"  // a cell that the row needs is empty
	Unread   Code = "unread"   // a cell cannot be read
	Decimal  Code = "decimal"  // a number may have thousands or decimals
	Order    Code = "order"    // a date may have its day or its month first
	Cells    Code = "cells"    // the row has another number of cells than the header
	Twice    Code = "twice"    // the tag is in another row too
	Here     Code = "here"     // the tag exists here, and updating is off
	Several  Code = "several"  // the row matches more than one record
	Serial   Code = "serial"   // the tag exists here with another serial number
	Moved    Code = "moved"    // the serial number exists here under another tag
	NoSite   Code = "site"     // the site is unknown
	NoMethod Code = "method"   // the method is unknown, or cannot be used
	Refused  Code = "refused"  // the calculation refuses the instrument
	Doubtful Code = "doubtful" // worth a look; nothing is left out
)

// Problem is a fault of a row or of one of its cells.
type Problem struct {
	Field string `json:"field"`
	Code  Code   `json:"code"`
	Cell  string `json:"cell"` // as in the file
	Says  string `json:"says"`
	Lost  bool   `json:"lost"` // only the cell is left out; the row is imported
}

// optional are the fields whose bad cell is left out while the row is imported. Cautions are not
// among them: losing one can hurt somebody.
var optional = []string{
	"serial", "description", "manufacturer", "model", "medium", "connection", "area", "place", "note",
	"interval_months", "due", "status", "language", "aliases", "method",
}

// note records a problem; one that makes the row bad is also in its Problems.
func (row *Row) note(p Problem) {
	row.All = append(row.All, p)
	if p.Lost {
		row.Lost = append(row.Lost, p.Says)
	} else {
		row.Problems = append(row.Problems, p.Says)
	}
}

// bad records a fault of the row.
func (row *Row) bad(code Code, field, format string, args ...any) {
	row.note(Problem{Field: field, Code: code, Cell: row.text[field], Says: fmt.Sprintf(format, args...)})
}

// wrong records a fault in the cell of a field.
func (row *Row) wrong(field, format string, args ...any) {
	code := Unread
	for _, a := range args {
		switch err, _ := a.(error); {
		case errors.Is(err, errDecimal):
			code = Decimal
		case errors.Is(err, errOrder):
			code = Order
		}
	}
	row.fault(code, field, format, args...)
}

// fault is wrong with a code.
func (row *Row) fault(code Code, field, format string, args ...any) {
	row.note(Problem{
		Field: field, Code: code, Cell: row.text[field], Lost: slices.Contains(optional, field),
		Says: fmt.Sprintf("%s: %s", row.column(field), fmt.Sprintf(format, args...)),
	})
}

// loses reports whether the cell of a field is left out.
func (row *Row) loses(field string) bool {
	return slices.ContainsFunc(row.All, func(p Problem) bool {
		return p.Field == field && p.Lost && p.Code != Doubtful
	})
}

// forgive removes problems, or turns them into cells that are left out.
func (row *Row) forgive(which func(Problem) (keep, lost bool)) {
	all := row.All
	row.All, row.Problems, row.Lost = nil, nil, nil
	for _, p := range all {
		keep, lost := which(p)
		if p.Lost = p.Lost || lost; keep {
			row.note(p)
		}
	}
}
