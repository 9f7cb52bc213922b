//go:build !wasip1

package main

// main only says how to build, since the reactor exists for wasip1 only.
func main() { println("build with GOOS=wasip1 GOARCH=wasm -buildmode=c-shared") }
