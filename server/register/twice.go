package register

import "fmt"

// twice checks whether an earlier row has the tag of the last row.
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
		row.fault(Twice, "tag", "the tag %s is also in line %d", row.Tag, r.Rows[first].Line)
	}
}

// serialsTwice notes serial numbers with several tags: that may be right, for two makers.
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
				Says: fmt.Sprintf("the serial number %s is also in line %d", row.text["serial"], first),
			})
		} else {
			lines[key] = row.Line
		}
	}
}
