// Command webbuild builds the client into webapp/dist: bundles, page, icons, the list of files to
// keep offline, compressed copies and the calculation module. It fails when a file exceeds its
// budget.
//
// wasm.go links the module for wasip1, and slim.go removes the parts of it that only print stack
// traces. bundle.go bundles the TypeScript with esbuild. page.go writes the page with the hash of
// each file. compress.go compresses with gzip and brotli and checks the sizes against the budgets.
//
// With -test it bundles the unit tests of the client instead; with -module it writes only the
// module.
package main
