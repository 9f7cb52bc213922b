// Package schema carries the JSON Schema (2020-12) of every room, for the command line and the tests; the phone does not load it.
package schema

import "embed"

//go:embed all:rooms
var files embed.FS

// Room returns the schema of a room, if there is one.
func Room(name string) ([]byte, error) { return files.ReadFile("rooms/" + name + ".json") }
