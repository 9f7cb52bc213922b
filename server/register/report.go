package register

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Report writes what was read, and every row with its faults; with all also the good rows.
func (r *Register) Report(w io.Writer, all bool) error {
	decimal := r.Decimal
	if decimal == "" {
		decimal = "not told by any number"
	}
	name := map[string]string{",": "comma", ";": "semicolon", "\t": "tab"}[r.Delimiter]
	var err error
	say := func(format string, args ...any) {
		if err == nil {
			_, err = fmt.Fprintf(w, format, args...)
		}
	}
	say("%s, parted by %s, decimal mark: %s\n", r.Encoding, name, decimal)
	for _, c := range r.Columns {
		say("  %s\n", c)
	}
	if len(r.Unused) > 0 {
		say("  not used: %s\n", strings.Join(r.Unused, ", "))
	}
	for i := range r.Rows {
		row := &r.Rows[i]
		lost := ""
		if len(row.Lost) > 0 {
			lost = "  left out: " + strings.Join(row.Lost, "; ")
		}
		switch state := row.State(); {
		case state == "bad":
			say("line %d  %s  BAD  %s%s\n", row.Line, row.Tag, strings.Join(row.Problems, "; "), lost)
		case state == "changed":
			say("line %d  %s  changed%s\n", row.Line, row.Tag, lost)
			for _, d := range row.Changes {
				say("    %s: %s → %s\n", d.Field, d.Before, d.After)
			}
		case all && state == "new":
			say("line %d  %s  good%s\n", row.Line, row.Tag, lost)
		case all || lost != "":
			say("line %d  %s  %s%s\n", row.Line, row.Tag, state, lost)
		}
	}
	for _, s := range r.NewSites {
		say("new site %s\n", s)
	}
	r.reportCauses(say)
	say("%d rows: %d good, %d bad\n", len(r.Rows), r.Good(), r.Bad())
	if changed, same, dropped := r.Count("changed"), r.Count("same"), r.Count("dropped"); changed+same+dropped > 0 {
		say("of these %d new, %d changed, %d as they are; %d left out for another row with their tag\n",
			r.Count("new"), changed, same, dropped)
	}
	return err
}

// hints are the command's options that repair all rows of a cause.
var hints = map[string]string{
	"set": "--set FIELD=VALUE", "value": "--value FIELD:CELL=VALUE",
	"decimal": "--decimal point or --decimal comma", "dates": "--dates dmy or --dates mdy",
	"sites": "--new-sites", "twice": "--twice first or --twice last",
	"serials": "--serials correct or --serials exchange", "moved": "--moved move or --moved new",
}

// reportCauses sums up the faults.
func (r *Register) reportCauses(say func(string, ...any)) {
	for _, c := range r.Causes() {
		costs := "the row"
		if c.Lost {
			costs = "the cell"
		}
		if c.Rows > 1 {
			say("%d rows lose %s: %s, as in line %d\n", c.Rows, costs, c.Says, c.Lines[0])
		}
		if hint := hints[c.Repair]; hint != "" {
			hint = strings.NewReplacer("FIELD", c.Field).Replace(hint)
			say("  for all of %s: %s\n", c.Field, hint)
		}
	}
}

// LeftOut writes the bad rows as a table with the same columns, and a last one with the faults.
func (r *Register) LeftOut(w io.Writer) error {
	out := csv.NewWriter(w)
	if r.Delimiter != "" {
		out.Comma = rune(r.Delimiter[0])
	}
	if err := out.Write(append(slices.Clone(r.header), "problem")); err != nil {
		return err
	}
	for i := range r.Rows {
		row := &r.Rows[i]
		if row.State() != "bad" {
			continue
		}
		cells := slices.Clone(row.cells)
		for len(cells) < len(r.header) {
			cells = append(cells, "")
		}
		if err := out.Write(append(cells, fmt.Sprintf("line %d: %s", row.Line, strings.Join(row.Problems, "; ")))); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
