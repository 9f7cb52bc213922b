package register

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// marks counts the evidence for a decimal comma and for a decimal point: a mark that cannot
// separate thousands.
type marks struct{ comma, point int }

var (
	grouped = regexp.MustCompile(`^[+-]?[1-9]\d{0,2}([.,]\d{3})+$`)
	figure  = regexp.MustCompile(`[+-]?\d[\d.,]*`)
)

// note counts the evidence in a text with numbers.
func (m *marks) note(text string) {
	for _, n := range figure.FindAllString(strings.NewReplacer("−", "-", "...", " ", "..", " ").Replace(text), -1) {
		n = strings.TrimRight(n, ".,")
		i := strings.LastIndexAny(n, ".,")
		if i < 0 || grouped.MatchString(n) && strings.Count(n, ",")*strings.Count(n, ".") == 0 &&
			strings.Count(n, string(n[i])) == 1 {
			continue // whole, or one group of three: no evidence
		}
		mark := n[i]
		if strings.Count(n, string(mark)) > 1 {
			mark = ',' + '.' - mark // it separates thousands, so the other one is the decimal mark
		}
		if mark == ',' {
			m.comma++
		} else {
			m.point++
		}
	}
}

// errDecimal is wrapped if a number may have thousands or decimals, and errOrder if a date may
// start with the day or the month, and the file does not show which.
var (
	errDecimal = errors.New("may be thousands or decimals")
	errOrder   = errors.New("may be day or month first")
)

// number reads a number with the decimal mark '.' or ','. With mark 0 the file does not show it or
// has both; then each number must show it by itself or is refused.
func number(text string, mark byte) (string, error) {
	s := strings.NewReplacer("−", "-", "\u00a0", "", "\u202f", "", " ", "", "'", "").Replace(text)
	s = strings.TrimPrefix(s, "+")
	if mark == 0 {
		if mark = markOf(s); mark == 0 {
			return "", fmt.Errorf("%q %w", text, errDecimal)
		}
	}
	other := byte(',' + '.' - mark)
	if strings.IndexByte(s, other) >= 0 {
		whole, _, _ := strings.Cut(s, string(mark))
		if !grouped.MatchString(whole) || strings.IndexByte(whole, mark) >= 0 ||
			strings.IndexByte(s[len(whole):], other) >= 0 {
			return "", fmt.Errorf("%q is not a number with a decimal %q", text, string(mark))
		}
		s = strings.ReplaceAll(s, string(other), "")
	}
	s = strings.ReplaceAll(s, string(mark), ".")
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "-.") {
		s = strings.Replace(s, ".", "0.", 1)
	}
	if !document.IsDecimal(s) || strings.ContainsAny(s, "eE") {
		return "", fmt.Errorf("%q is not a number", text)
	}
	return strings.TrimSuffix(s, "."), nil
}

// markOf returns the decimal mark that a number shows by itself, 0 if it may separate thousands.
func markOf(s string) byte {
	i := strings.LastIndexAny(s, ".,")
	switch {
	case i < 0:
		return '.'
	case strings.Count(s, s[i:i+1]) > 1:
		return ',' + '.' - s[i] // it separates thousands
	case strings.ContainsRune(s, rune(','+'.'-s[i])):
		return s[i] // the last of the two
	case grouped.MatchString(s):
		return 0
	}
	return s[i]
}

var rangeForm = regexp.MustCompile(`^([+-]?\d[\d.,' ]*?)\s*([^\d\s.,;:…-][^\d\s]*)?\s*(?:\.\.\.?|…|–|—|-|/|;|:|to|bis|through|à|a)\s*([+-]?\d[\d.,' ]*?)\s*([^\d\s.,-].*)?$`)

// oneEnd matches a range of which only the end that is not zero is written: 16 bar, -1 bar.
var oneEnd = regexp.MustCompile(`^([+-]?\d+(?:[.,']\d+)*)\s*([^\d\s.,;:…-][^\d]*[23²³]?)$`)

// cutRange splits a text such as "0…10 bar" or "-1 to 3,5 bar".
func cutRange(text string) (low, high, unit string, err error) {
	text = strings.ReplaceAll(text, "−", "-")
	if m := oneEnd.FindStringSubmatch(text); m != nil {
		if strings.HasPrefix(m[1], "-") {
			return m[1], "0", strings.TrimSpace(m[2]), nil
		}
		return "0", m[1], strings.TrimSpace(m[2]), nil
	}
	m := rangeForm.FindStringSubmatch(text)
	if m == nil {
		return "", "", "", fmt.Errorf("%q is not a range such as 0…10 bar", text)
	}
	first, last := strings.TrimSpace(m[2]), strings.TrimSpace(m[4])
	if first != "" && last != "" && first != last {
		return "", "", "", fmt.Errorf("%q has two units", text)
	}
	return strings.TrimSpace(m[1]), strings.TrimSpace(m[3]), last + map[bool]string{true: first}[last == ""], nil
}

// spellings are words in registers that are not units of the table, each with its unit.
var spellings = map[string]string{"psi": "psi", "kpa": "kPa", "mpa": "MPa", "hpa": "hPa", "pa": "Pa", "bar": "bar", "mbar": "mbar", "millibar": "mbar",
	"kg/cm²": "kgf/cm2", "kg/cm2": "kgf/cm2", "kgf/cm²": "kgf/cm2", "torr": "Torr", "mmhg": "mmHg", "inhg": "inHg", "\"hg": "inHg", "in hg": "inHg", "in. hg": "inHg",
	"mmws": "mmH2O", "mm ws": "mmH2O", "mmca": "mmH2O", "mm ca": "mmH2O", "mbars": "mbar", "bars": "bar", "kp/cm2": "kgf/cm2", "kp/cm²": "kgf/cm2",
	"mmwc": "mmH2O", "mmh2o": "mmH2O", "mm h2o": "mmH2O", "inwc": "inH2O", "in wc": "inH2O", "in. wc": "inH2O", "inh2o": "inH2O", "in h2o": "inH2O",
	"\"wc": "inH2O", "\"h2o": "inH2O", "mws": "mH2O", "mwc": "mH2O", "ftwc": "ftH2O", "lb/in2": "psi", "lbf/in2": "psi", "n/mm²": "N/mm2"}

// unitOf returns the unit for a register's word, and the pressure's reference that the word implies
// ("" if none). It never takes mPa for MPa: that would be a factor of a thousand million.
func unitOf(text string) (unit, mode string, err error) {
	s := strings.TrimSpace(text)
	find := func(s string) string {
		s = strings.TrimSpace(s)
		if u, ok := units.Find(s); ok && u.Kind == units.Pressure {
			return u.Name
		}
		low := strings.ToLower(s)
		if low == "mpa" && s != "MPA" && s != "Mpa" {
			return ""
		}
		return spellings[low]
	}
	if u := find(s); u != "" {
		return u, "", nil
	}
	for _, x := range []struct{ ending, mode string }{
		{"(gauge)", "gauge"}, {"(rel)", "gauge"}, {"(rel.)", "gauge"}, {" rel.", "gauge"}, {" rel", "gauge"}, {" relatif", "gauge"}, {" relativo", "gauge"}, {" (ü)", "gauge"}, {"(ü)", "gauge"}, {" absolut", "absolute"}, {" absolu", "absolute"}, {" absoluto", "absolute"}, {"(abs)", "absolute"}, {"(g)", "gauge"}, {"(a)", "absolute"}, {"(d)", "differential"}, {" gauge", "gauge"}, {" gage", "gauge"},
		{" absolute", "absolute"}, {" abs.", "absolute"}, {" abs", "absolute"}, {" diff", "differential"}, {" g", "gauge"}, {" a", "absolute"}, {" d", "differential"},
		{"abs", "absolute"}, {"ü", "gauge"}, {"g", "gauge"}, {"a", "absolute"}, {"d", "differential"},
	} {
		if len(s) > len(x.ending) && strings.HasSuffix(strings.ToLower(s), x.ending) {
			if u := find(s[:len(s)-len(x.ending)]); u != "" {
				return u, x.mode, nil
			}
		}
	}
	return "", "", fmt.Errorf("%q is not a unit of pressure that is known here", text)
}
