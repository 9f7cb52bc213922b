package register

import "fmt"

// twice looks whether the tag of the last row stood in one before.
func (r *Register) twice(seen map[string]int, which string) {
	at := len(r.Rows) - 1
	row := &r.Rows[at]
	key := Same(row.Tag)
	first, twice := seen[key]
	switch {
	case key == "":
	case !twice:
		seen[key] = at
	case which == "first":
		row.dropped = true
	case which == "last":
		r.Rows[first].dropped = true
		seen[key] = at
	default:
		row.fault(Twice, "tag", "the tag %s stands in line %d too", row.Tag, r.Rows[first].Line)
	}
}

// serialsTwice notes where one serial number stands at several tags: that may be right, of two
// makers.
func (r *Register) serialsTwice() {
	lines := map[string]int{}
	for i := range r.Rows {
		row := &r.Rows[i]
		key := Same(row.text["serial"]) + "\n" + letters(row.text["manufacturer"])
		if row.dropped || len(Same(row.text["serial"])) < shortSerial {
			continue
		}
		if first, ok := lines[key]; ok {
			row.note(Problem{
				Field: "serial", Code: Doubtful, Cell: row.text["serial"], Lost: true,
				Says: fmt.Sprintf("the serial number %s stands in line %d too", row.text["serial"], first),
			})
		} else {
			lines[key] = row.Line
		}
	}
}
