// Package register takes a plant's list of instruments from a table.
package register

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	utf16 "golang.org/x/text/encoding/unicode"
)

var (
	// ErrFile is wrapped when a file is not a table that can be read.
	ErrFile = errors.New("the file cannot be read")
	// ErrColumns is wrapped when the header's columns do not do.
	ErrColumns = errors.New("the columns do not do")
)

const (
	// maxBytes and maxRows bound what is held in memory at once; a large plant has some ten thousand instruments.
	maxBytes = 64 << 20
	maxRows  = 100_000
)

// line is one row of the table with the number of the line it begins on.
type line struct {
	number int
	cells  []string
}

// table is the file cut into rows.
type table struct {
	encoding  string
	delimiter rune
	header    []string
	lines     []line
}

// cut reads the bytes of a file: UTF-8 with or without its mark, UTF-16 with its mark, otherwise Windows-1252; the delimiter is the one of comma, semicolon and tab
// that the header has most of, unless it is given.
func cut(data []byte, delimiter rune) (*table, error) {
	if len(data) > maxBytes {
		return nil, fmt.Errorf("%w: larger than %d MiB", ErrFile, maxBytes>>20)
	}
	t := &table{encoding: "UTF-8", delimiter: delimiter}
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		b, err := utf16.UTF16(utf16.LittleEndian, utf16.UseBOM).NewDecoder().Bytes(data)
		if err != nil {
			return nil, fmt.Errorf("%w: %w", ErrFile, err)
		}
		data, t.encoding = b, "UTF-16"
	}
	if !utf8.Valid(data) {
		b, err := charmap.Windows1252.NewDecoder().Bytes(data)
		if err != nil {
			return nil, fmt.Errorf("%w: %w", ErrFile, err)
		}
		data, t.encoding = b, "Windows-1252"
	}
	if bytes.IndexByte(data, 0) >= 0 {
		return nil, fmt.Errorf("%w: it is not text; save the sheet as CSV", ErrFile)
	}
	if t.delimiter == 0 {
		t.delimiter = delimiterOf(data)
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma, r.FieldsPerRecord = t.delimiter, -1
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%w: %w", ErrFile, err)
		}
		for i := range cells {
			cells[i] = strings.TrimFunc(cells[i], unicode.IsSpace)
		}
		number, _ := r.FieldPos(0)
		if blank(cells) {
			continue
		}
		if t.header == nil {
			t.header = cells
			continue
		}
		if t.lines = append(t.lines, line{number, cells}); len(t.lines) > maxRows {
			return nil, fmt.Errorf("%w: more than %d rows", ErrFile, maxRows)
		}
	}
	if t.header == nil {
		return nil, fmt.Errorf("%w: it is empty", ErrFile)
	}
	if len(t.lines) == 0 {
		return nil, fmt.Errorf("%w: it has a header and no rows", ErrFile)
	}
	return t, nil
}

func blank(cells []string) bool {
	for _, c := range cells {
		if c != "" {
			return false
		}
	}
	return true
}

func delimiterOf(data []byte) rune {
	count := map[rune]int{}
	quoted := false
header:
	for _, r := range string(data) {
		switch r {
		case '"':
			quoted = !quoted
		case '\n', '\r':
			if !quoted && len(count) > 0 {
				break header
			}
		case ',', ';', '\t':
			if !quoted {
				count[r]++
			}
		}
	}
	best := ','
	for _, r := range []rune{';', '\t'} {
		if count[r] > count[best] {
			best = r
		}
	}
	return best
}

// Fields are the columns that a register may have, each with other words for it. A heading is compared without case, accents' places and
// anything but letters and digits; what stands in brackets after it is left out.
var fields = []struct {
	name string
	also []string
}{
	{"tag", []string{"tag no", "tag number", "tagno", "loop", "position", "messstelle", "kks", "repere", "etiqueta"}},
	{"serial", []string{"serial no", "serial number", "sn", "s n", "seriennummer", "serien nr", "fabriknummer", "numero de serie", "numéro de série", "número de serie"}},
	{"description", []string{"service", "name", "bezeichnung", "beschreibung", "designation", "désignation", "descripcion", "descripción"}},
	{"manufacturer", []string{"maker", "make", "hersteller", "fabricant", "fabricante"}},
	{"model", []string{"type", "typ", "modele", "modèle", "modelo"}},
	{"range", []string{"measuring range", "scale", "messbereich", "anzeigebereich", "etendue", "étendue", "rango"}},
	{"low", []string{"range low", "low range", "min", "lower", "lrv", "range from", "from", "von", "anfang", "minimum", "scale low"}},
	{"high", []string{"range high", "high range", "max", "upper", "urv", "full scale", "fs", "range to", "to", "bis", "ende", "maximum", "scale high"}},
	{"unit", []string{"units", "uom", "einheit", "unite", "unité", "unidad", "eng unit", "engineering unit"}},
	{"mode", []string{"reference", "pressure type", "druckart", "gauge absolute"}},
	{"resolution", []string{"readability", "read to", "auflösung", "ablesbarkeit", "resolucion", "résolution"}},
	{"class", []string{"accuracy class", "klasse", "genauigkeitsklasse", "classe", "clase", "kl"}},
	{"grade", []string{"accuracy grade"}},
	{"percent", []string{"accuracy", "tolerance", "limit", "of span percent", "fehlergrenze", "tolerance percent"}},
	{"stop_pin", []string{"stop pin", "zero stop", "anschlagstift"}},
	{"medium", []string{"fluid", "process medium", "messstoff", "fluide", "fluido"}},
	{"area", []string{"unit area", "plant area", "anlage", "bereich", "zone", "section", "building", "gebäude"}},
	{"place", []string{"location", "ort", "einbauort", "lieu", "ubicacion", "ubicación", "where"}},
	{"note", []string{"notes", "remark", "remarks", "comment", "bemerkung", "notiz", "remarque"}},
	{"interval_months", []string{"interval", "interval months", "cycle", "months", "intervall", "prüfintervall", "periode", "calibration interval"}},
	{"due", []string{"due date", "next due", "next calibration", "fällig", "fällig am", "nächste prüfung", "echeance", "échéance"}},
	{"status", []string{"state", "zustand", "etat", "état", "estado"}},
	{"cautions", []string{"caution", "hazard", "hazards", "gefahren"}},
	{"aliases", []string{"alias", "other names", "old tag", "alte nummer"}},
	{"site", []string{"site code", "plant", "werk", "standort"}},
	{"method", []string{"procedure", "method name", "verfahren", "methode"}},
	{"kind", []string{"kind of instrument", "instrument kind", "instrument type", "device type", "art", "geräteart", "genre"}},
	{"output", []string{"signal", "output signal", "ausgang", "ausgangssignal", "sortie", "salida"}},
	{"volume", []string{"system volume", "volumen", "rauminhalt"}},
	{"weakest", []string{"weakest part pressure", "rated pressure", "maop", "ps max"}},
	{"weakest_part", []string{"rated part", "schwächstes teil"}},
	{"contact", []string{"contact name", "kontakt"}},
	{"set_point", []string{"setpoint", "switch point", "schaltpunkt", "point de consigne"}},
	{"acts", []string{"direction", "acts when", "richtung"}},
	{"set_tolerance", []string{"set point tolerance", "setpoint tolerance", "schaltpunkttoleranz"}},
	{"dead_band", []string{"deadband", "hysteresis", "differential", "schaltdifferenz"}},
	{"safe_side", []string{"safe position", "fail safe"}},
	{"safety_function", []string{"safety", "sif", "sicherheitsfunktion"}},
	{"contact_2", nil}, {"set_point_2", []string{"setpoint 2"}}, {"acts_2", []string{"direction 2"}}, {"set_tolerance_2", nil}, {"dead_band_2", []string{"deadband 2"}}, {"safe_side_2", nil},
	{"safety_function_2", []string{"safety 2"}},
	{"marked", []string{"marked burst pressure", "burst pressure", "berstdruck"}},
	{"requested", []string{"requested burst pressure", "specified burst pressure"}},
	{"lot", []string{"lot no", "lot number", "batch", "charge"}},
	{"lot_size", []string{"discs in lot", "losgröße"}},
	{"material", []string{"disc material", "werkstoff"}},
	{"coincident_temperature", []string{"coincident temperature c", "burst temperature"}},
}

func known(name string) bool {
	for _, f := range fields {
		if f.name == name {
			return true
		}
	}
	return false
}

// FieldNames lists what --map and --set may name.
func FieldNames() []string {
	var list []string
	for _, f := range fields {
		list = append(list, f.name)
	}
	return list
}

// letters makes headings comparable.
func letters(s string) string {
	if i := strings.IndexAny(s, "([{"); i > 0 {
		s = s[:i]
	}
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

// columns finds for every field the column it stands in. chosen maps headings to field names, or to "" for a column to leave out.
func columns(header []string, chosen map[string]string) (at map[string]int, unused []string, err error) {
	words := map[string]string{}
	for _, f := range fields {
		words[letters(f.name)] = f.name
		for _, w := range f.also {
			words[letters(w)] = f.name
		}
	}
	byLetters := map[string]string{}
	for heading, field := range chosen {
		if field != "" && !known(field) {
			return nil, nil, fmt.Errorf("%w: %q is no field; there are %s", ErrColumns, field, strings.Join(FieldNames(), " "))
		}
		found := false
		for _, h := range header {
			found = found || h == heading || letters(h) == letters(heading)
		}
		if !found {
			return nil, nil, fmt.Errorf("%w: no column is headed %q; there are %q", ErrColumns, heading, header)
		}
		byLetters[letters(heading)] = field
	}
	at = map[string]int{}
	taken := map[string]bool{}
	for _, field := range byLetters {
		taken[field] = true // what a person chose goes before a guess
	}
	for i, h := range header {
		field, mapped := byLetters[letters(h)]
		if !mapped {
			if field = words[letters(h)]; taken[field] {
				field = ""
			}
		}
		if field == "" {
			if h != "" {
				unused = append(unused, h)
			}
			continue
		}
		if k, twice := at[field]; twice {
			return nil, nil, fmt.Errorf("%w: %q and %q are both taken for %s; say which with --map", ErrColumns, header[k], h, field)
		}
		at[field] = i
	}
	return at, unused, nil
}
