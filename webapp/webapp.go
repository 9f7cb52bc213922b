// Package webapp carries the built client in the binary.
package webapp

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

// Files gives the built client: index.html, sw.js and the hashed files under assets/; only .gitkeep
// if it was not built.
func Files() fs.FS {
	sub, err := fs.Sub(dist, "dist")
	if err != nil {
		panic(err) // the folder's name is a constant above
	}
	return sub
}
