package register

import (
	"cmp"
	"slices"
)

// Cause is what is wrong with several rows in the same way, with what puts all of them right.
type Cause struct {
	Field   string  `json:"field"`
	Heading string  `json:"heading"` // of its column, "" where there is none
	Code    Code    `json:"code"`
	Lost    bool    `json:"lost"` // the cells are left out and the rows are taken
	Rows    int     `json:"rows"`
	Lines   []int   `json:"lines"` // the first of them
	Says    string  `json:"says"`  // of the first row
	Values  []Value `json:"values"`
	// Repair is what puts all rows right: set (a value for empty cells), value (another one for each
	// that stands there), decimal, dates, sites, twice, serials, moved; "" for none.
	Repair string `json:"repair"`
}

// Value is what stands in cells, and in how many.
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

// Causes sums up what is wrong, what costs most rows first.
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
