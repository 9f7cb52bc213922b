// Package register takes a plant's list of instruments from a table: a text file with one
// instrument a row, in UTF-8, UTF-16 or Windows-1252, separated by comma, semicolon or tab, with
// decimal comma or point.
//
// columns.go names the columns, each with other headings in the trade's words of several languages;
// kinds.go has the columns of each kind of work. `gaugewright import -h` prints them all. The class
// (EN 837), the grade (ASME B40.100) and a per cent of span exclude one another.
//
// Each row is tried before it is taken: expand, and for gauges evaluate, run on the instrument with
// its method. A row without a method is tried with a plain method of its kind; then only what is
// refused of the instrument counts. A bad row is named by line, column as the file heads it, and
// what was expected. Nothing is written from a file that has a bad row unless --skip-bad says where
// the bad rows go.
package register
