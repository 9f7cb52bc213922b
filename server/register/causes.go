package register

import (
	"cmp"
	"slices"
)

// Cause is the same fault in several rows, with the repair for all of them.
type Cause struct {
	Field   string  `json:"field"`
	Heading string  `json:"heading"` // of its column, "" if there is none
	Code    Code    `json:"code"`
	Lost    bool    `json:"lost"` // only the cells are left out; the rows are imported
	Rows    int     `json:"rows"`
	Lines   []int   `json:"lines"` // the first lines
	Says    string  `json:"says"`  // of the first row
	Values  []Value `json:"values"`
	// Repair corrects all rows: set (a value for empty cells), value (a replacement for each
	// value), decimal, dates, sites, twice, serials, moved; "" if there is none.
	Repair string `json:"repair"`
}

// Value is a cell's content, and in how many cells it is.
type Value struct {
	Text  string `json:"text"`
	Count int    `json:"count"`
}

var repairs = map[Code]string{
	Missing: "set", Unread: "value", Decimal: "decimal", Order: "dates", NoSite: "sites", Twice: "twice",
	Serial: "serials", Moved: "moved", NoMethod: "value",
}

const (
	mostLines  = 8
	mostValues = 25
)

// Causes sums up the faults, those that affect most rows first.
func (r *Register) Causes() []Cause {
	type key struct {
		field string
		code  Code
		lost  bool
	}
	at, list := map[key]int{}, []Cause{}
	for i := range r.Rows {
		row := &r.Rows[i]
		seen := map[key]bool{}
		for _, p := range row.All {
			k := key{p.Field, p.Code, p.Lost}
			if seen[k] || row.dropped {
				continue
			}
			seen[k] = true
			n, ok := at[k]
			if !ok {
				n = len(list)
				at[k] = n
				c := Cause{
					Field: p.Field, Code: p.Code, Lost: p.Lost, Says: p.Says, Repair: repairs[p.Code],
					Values: []Value{},
				}
				if col, ok := row.at[p.Field]; ok {
					c.Heading = row.header[col]
				}
				if (p.Field == "tag" || p.Field == "high") && p.Code == Missing ||
					p.Code == Unread && p.Cell == "" {
					c.Repair = ""
				}
				list = append(list, c)
			}
			c := &list[n]
			c.Rows++
			if len(c.Lines) < mostLines {
				c.Lines = append(c.Lines, row.Line)
			}
			if p.Cell == "" {
				continue
			}
			if v := slices.IndexFunc(c.Values, func(v Value) bool { return v.Text == p.Cell }); v >= 0 {
				c.Values[v].Count++
			} else if len(c.Values) < mostValues {
				c.Values = append(c.Values, Value{p.Cell, 1})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Cause) int {
		if a.Lost != b.Lost {
			return map[bool]int{true: 1, false: -1}[a.Lost]
		}
		return cmp.Compare(b.Rows, a.Rows)
	})
	return list
}
