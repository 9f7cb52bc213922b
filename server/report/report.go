// Package report lays out the office's reports: headings, sentences, facts and tables, as a PDF
// with attachments, as CSV and as a spreadsheet (.xlsx). It knows no records and decides nothing:
// server/desk supplies the content. The same report gives the same PDF.
//
// It must never write a text so that a spreadsheet takes it for a formula.
package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/export"

	"github.com/xuri/excelize/v2"
)

// Report is a document of several pages.
type Report struct {
	Title string
	Of    string // the owner of the report
	Made  time.Time
	Paper string // A4 or letter; "" is A4
	// Language is its language in ISO 639-1; "" is English. Headings, names of facts and columns,
	// and cells that are words of the program are translated if there is German for them.
	Language string
	Plain    bool // a letter: without a title
	Wide     bool // landscape: for tables with many columns
	Parts    []Part
}

// Part is a section of a report; each field may be empty.
type Part struct {
	Heading  string
	NewPage  bool
	Text     []string // paragraphs
	Facts    [][2]string
	Table    *Table
	Pictures []Picture
}

// Picture is a photo in a report.
type Picture struct {
	Type    string // JPG or PNG
	Bytes   []byte
	Caption string
}

// Table is a table with the same columns in every form.
type Table struct {
	Name    string // of the sheet of a spreadsheet
	Columns []Column
	Rows    [][]string
	None    string // text for a table without rows
}

// Column is one column of a table. Wide is its share of the width; 0 counts as 1.
type Column struct {
	Name   string
	Number bool
	Word   bool // its cells are words of the program, such as a verdict
	Wide   float64
}

// File is an attachment of a PDF.
type File struct {
	Name, Means string
	Bytes       []byte
}

// number reports whether a cell is written as a number.
func (t *Table) number(col int, text string) bool {
	return t.Columns[col].Number && document.IsDecimal(text)
}

// CSV writes a table for spreadsheets and other programs, with decimal points.
func CSV(to io.Writer, t *Table) error {
	w := csv.NewWriter(to)
	line := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		line[i] = c.Name
	}
	if err := w.Write(line); err != nil {
		return err
	}
	for n, row := range t.Rows {
		if len(row) != len(t.Columns) {
			return fmt.Errorf("table %s, row %d: %d cells for %d columns", t.Name, n+1, len(row), len(t.Columns))
		}
		for i, text := range row {
			if line[i] = text; !t.number(i, text) {
				line[i] = export.Cell(text)
			}
		}
		if err := w.Write(line); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// XLSX writes tables as the sheets of a workbook (ISO/IEC 29500): numbers as numbers, everything
// else as text.
func XLSX(to io.Writer, tables ...*Table) (err error) {
	f := excelize.NewFile()
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	if err != nil {
		return err
	}
	for n, t := range tables {
		name := t.Name
		if n == 0 {
			err = f.SetSheetName("Sheet1", name)
		} else {
			_, err = f.NewSheet(name)
		}
		if err == nil {
			err = t.sheet(f, name, bold)
		}
		if err != nil {
			return err
		}
	}
	return f.Write(to)
}

// widest is in characters: more is not read at a glance.
const widest = 60

func (t *Table) sheet(f *excelize.File, name string, bold int) error {
	w, err := f.NewStreamWriter(name)
	if err != nil {
		return err
	}
	for i, c := range t.Columns {
		wide := len(c.Name)
		for _, row := range t.Rows {
			wide = max(wide, len(row[i]))
		}
		if err := w.SetColWidth(i+1, i+1, float64(min(wide, widest)+2)); err != nil {
			return err
		}
	}
	if err := w.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	cells := make([]any, len(t.Columns))
	for i, c := range t.Columns {
		cells[i] = excelize.Cell{StyleID: bold, Value: c.Name}
	}
	if err := w.SetRow("A1", cells); err != nil {
		return err
	}
	for n, row := range t.Rows {
		for i, text := range row {
			cells[i] = text
			if x, err := strconv.ParseFloat(text, 64); err == nil && t.number(i, text) {
				cells[i] = x
			}
		}
		at, err := excelize.CoordinatesToCellName(1, n+2)
		if err != nil {
			return err
		}
		if err := w.SetRow(at, cells); err != nil {
			return err
		}
	}
	return w.Flush()
}
