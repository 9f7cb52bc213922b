package export

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"gaugewright/calc/document"
)

// Cell keeps a spreadsheet from taking a text for a formula (OWASP, CSV injection). It looks at the
// first character after any spaces.
func Cell(text string) string {
	t := strings.TrimLeft(text, " ")
	if t != "" && strings.ContainsRune("=+-@\t\r\n|%＝＋－＠", []rune(t)[0]) {
		return "'" + text
	}
	return text
}

// sheet writes one table as CSV and as JSON.
type sheet struct {
	of    *table
	csv   *csv.Writer
	json  io.Writer
	close []io.Closer
	rows  int
}

func (w *writer) open(t *table) error {
	c, err := w.create(t.name + ".csv")
	if err != nil {
		return err
	}
	j, err := w.create(t.name + ".json")
	if err != nil {
		return errors.Join(err, c.Close())
	}
	s := &sheet{of: t, csv: csv.NewWriter(c), json: j, close: []io.Closer{c, j}}
	w.sheets[t.name] = s
	head := make([]string, len(t.columns))
	for i := range t.columns {
		head[i] = t.columns[i].name
	}
	_, err = io.WriteString(j, "[")
	return errors.Join(err, s.csv.Write(head))
}

// put writes a row: the cells in the order of the columns, and the whole value for JSON only.
func (s *sheet) put(whole json.RawMessage, cells ...string) error {
	if len(cells) != len(s.of.columns) {
		return fmt.Errorf("table %s: %d cells for %d columns", s.of.name, len(cells), len(s.of.columns))
	}
	line := make([]string, len(cells))
	b := []byte("\n{")
	if s.rows > 0 {
		b = []byte(",\n{")
	}
	s.rows++
	for i, text := range cells {
		c := &s.of.columns[i]
		line[i] = text
		if !c.number && !document.IsDecimal(text) {
			line[i] = Cell(text)
		}
		b = append(document.AppendText(b, c.name), ':')
		switch {
		case !c.number:
			b = document.AppendText(b, text)
		case text == "":
			b = append(b, "null"...)
		default:
			b = append(b, text...)
		}
		if i < len(cells)-1 {
			b = append(b, ',')
		}
	}
	if s.of.whole != "" {
		b = append(document.AppendText(append(b, ','), s.of.whole), ':')
		if whole == nil {
			whole = json.RawMessage("null")
		}
		b = append(b, bytes.TrimSpace(whole)...)
	}
	_, err := s.json.Write(append(b, '}'))
	return errors.Join(err, s.csv.Write(line))
}

func (s *sheet) end() error {
	s.csv.Flush()
	_, err := io.WriteString(s.json, "\n]\n")
	errs := []error{s.csv.Error(), err}
	for _, c := range s.close {
		errs = append(errs, c.Close())
	}
	return errors.Join(errs...)
}

// schema returns the JSON Schema (2020-12) of the tables, each under its name in $defs.
func schema() ([]byte, error) {
	defs := map[string]any{}
	for i := range tables {
		t := &tables[i]
		members, names := map[string]any{}, []string{}
		for _, c := range t.columns {
			is := any("string")
			if c.number {
				is = []string{"number", "null"}
			}
			members[c.name] = map[string]any{"type": is, "description": c.means}
			names = append(names, c.name)
		}
		switch t.whole {
		case "":
		case "fields":
			members[t.whole] = map[string]any{
				"type": "object", "description": "every field of the record with the value that stands",
			}
			names = append(names, t.whole)
		default:
			members[t.whole] = map[string]any{
				"type":        []string{"object", "null"},
				"description": "in the row of the whole: the evaluation as it was kept",
			}
			names = append(names, t.whole)
		}
		defs[t.name] = map[string]any{
			"type": "array", "description": t.means, "items": map[string]any{
				"type": "object", "properties": members, "required": names, "additionalProperties": false,
			},
		}
	}
	return json.MarshalIndent(map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   "The tables of an export: TABLE.json is valid by #/$defs/TABLE",
		"$defs":   defs,
	}, "", " ")
}
