// Package register imports a plant's list of instruments from a table: a text file with one
// instrument per row, in UTF-8, UTF-16 or Windows-1252, separated by comma, semicolon or tab, with
// decimal comma or point.
//
// columns.go names the columns, each with other headings in the trade's words of several languages;
// kinds.go has the columns of each kind of work. `gaugewright import -h` prints them all. The class
// (EN 837), the grade (ASME B40.100) and a per cent of span exclude one another.
//
// Each row is tried before it is imported: expand, and for gauges evaluate, run on the instrument
// with its method. A row without a method is tried with a plain method of its kind; then only what
// is refused about the instrument counts. A bad row is reported with its line, the column as the
// file names it, and what was expected. A file with a bad row is not imported unless --skip-bad
// says where the bad rows go.
package register
