// Package schema carries the JSON Schema (2020-12) of every calculation, for the command line and
// the tests. The phone does not load it. README.md is generated from the schemas.
package schema

import "embed"

//go:generate go test -run TestReference$ -args -write

//go:embed all:calculations
var files embed.FS

// Of returns the schema of a calculation, if there is one.
func Of(name string) ([]byte, error) { return files.ReadFile("calculations/" + name + ".json") }
