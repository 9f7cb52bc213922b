package report

import (
	"time"

	"gaugewright/server/german"
)

// say returns a word or a heading of the program in the language of the report.
func (r *Report) say(text string, values ...string) string {
	return german.In(r.Language, text, values...)
}

// word returns a heading, or the name of a fact or of a column, as it is drawn; a letter has its
// own in the language of its addressee.
func (r *Report) word(text string) string {
	if r.Plain {
		return text
	}
	return r.say(text)
}

// day writes a moment in the form of the report's language.
func (r *Report) day(t time.Time) string {
	if r.Language == german.Code {
		return german.Day(t) + ", " + t.Format("15:04")
	}
	return t.Format("2 January 2006, 15:04")
}

// cell writes a cell of a table: a word of the program is translated, a number gets the language's
// decimal mark.
func (r *Report) cell(t *Table, col int, text string) string {
	switch {
	case r.Language != german.Code:
	case t.Columns[col].Word:
		return german.Translate(text)
	case t.number(col, text):
		return german.Mark(text)
	}
	return text
}
