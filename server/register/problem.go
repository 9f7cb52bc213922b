package register

import (
	"errors"
	"fmt"
	"slices"
)

// Code says what kind of thing is wrong, for what puts it right.
type Code string

// What can be wrong.
const (
	Missing  Code = "missing"  // a cell that the row needs is empty
	Unread   Code = "unread"   // a cell cannot be read
	Decimal  Code = "decimal"  // a number may have thousands or decimals
	Order    Code = "order"    // a date may have its day or its month first
	Cells    Code = "cells"    // the row has another number of cells than the header
	Twice    Code = "twice"    // the tag stands in another row too
	Here     Code = "here"     // the tag is here already, and nothing is to be updated
	Several  Code = "several"  // it answers to more than one record
	Serial   Code = "serial"   // the tag is here with another serial number
	Moved    Code = "moved"    // the serial number is here under another tag
	NoSite   Code = "site"     // the site is not known
	NoMethod Code = "method"   // the method is not known, or cannot be used
	Refused  Code = "refused"  // the calculation refuses the instrument
	Doubtful Code = "doubtful" // worth a look; nothing is left out for it
)

// Problem is what is wrong with a row or one of its cells.
type Problem struct {
	Field string `json:"field"`
	Code  Code   `json:"code"`
	Cell  string `json:"cell"` // as it stands in the file
	Says  string `json:"says"`
	Lost  bool   `json:"lost"` // the cell is left out and the row is taken
}

// optional are the fields whose bad cell costs the cell and not the row. Cautions are not among
// them: to lose one can hurt somebody.
var optional = []string{
	"serial", "description", "manufacturer", "model", "medium", "connection", "area", "place", "note",
	"interval_months", "due", "status", "aliases", "method",
}

// note keeps a problem; one that costs the row stands among its Problems.
func (row *Row) note(p Problem) {
	row.All = append(row.All, p)
	if p.Lost {
		row.Lost = append(row.Lost, p.Says)
	} else {
		row.Problems = append(row.Problems, p.Says)
	}
}

// bad says what is wrong with the row.
func (row *Row) bad(code Code, field, format string, args ...any) {
	row.note(Problem{Field: field, Code: code, Cell: row.text[field], Says: fmt.Sprintf(format, args...)})
}

// wrong says what is wrong with the cell of a field.
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

// fault is wrong with what kind it is.
func (row *Row) fault(code Code, field, format string, args ...any) {
	row.note(Problem{
		Field: field, Code: code, Cell: row.text[field], Lost: slices.Contains(optional, field),
		Says: fmt.Sprintf("%s: %s", row.column(field), fmt.Sprintf(format, args...)),
	})
}

// has says whether the cell of a field is lost.
func (row *Row) loses(field string) bool {
	return slices.ContainsFunc(row.All, func(p Problem) bool {
		return p.Field == field && p.Lost && p.Code != Doubtful
	})
}

// forgive takes problems back, or turns them into cells that are left out.
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
