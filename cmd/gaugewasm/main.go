//go:build wasip1

package main

import (
	"bytes"
	"runtime"
	"strings"
	"unsafe"

	"gaugewright/calc"
	"gaugewright/sync/merge"
)

// largest caps a request: the largest document of calc (32 MiB) with its name.
const largest = 32<<20 + 1024

// The request and the reply are kept in these two, so that the collector does not free their memory
// between calls.
var request, answer []byte

func main() {}

// reserve allocates space for a request of n bytes and returns where to write it. Memory views
// taken before it are stale.
//
//go:wasmexport reserve
func reserve(n int32) unsafe.Pointer {
	if n < 0 || n > largest {
		n = 0
	}
	if cap(request) < int(n) || cap(request) > 1<<20 && int(n) < cap(request)/4 {
		request = make([]byte, n, n+1)
	}
	request = request[:n]
	return unsafe.Pointer(unsafe.SliceData(request))
}

// call answers the request "NAME\n" + document, or "bytes/NAME\n" + a document in one line + "\n" +
// bytes, and returns the length of the reply.
//
//go:wasmexport call
func call() int32 {
	if rest, ok := bytes.CutPrefix(request, []byte("bytes/")); ok {
		calculation, rest, _ := bytes.Cut(rest, []byte("\n"))
		doc, text, _ := bytes.Cut(rest, []byte("\n"))
		answer = calc.CallBytes(string(calculation), doc, text)
		return int32(len(answer))
	}
	name, doc, ok := bytes.Cut(request, []byte("\n"))
	if !ok {
		name = nil
	}
	answer = dispatch(string(name), doc)
	return int32(len(answer))
}

// reply returns the address of the last reply.
//
//go:wasmexport reply
func reply() unsafe.Pointer { return unsafe.Pointer(unsafe.SliceData(answer)) }

// tidy collects the garbage. With the collector off (GOGC) and tidy called while idle, calls take
// about 60 % of the time and a tenth of the memory: one thread cannot collect beside a calculation.
//
//go:wasmexport tidy
func tidy() { runtime.GC() }

func dispatch(name string, doc []byte) []byte {
	kind, rest, _ := strings.Cut(name, "/")
	switch kind {
	case "calc":
		return calc.Call(rest, doc)
	case "sync":
		return merge.Call(rest, doc)
	}
	return []byte(`{"error":{"code":"syntax","field":"","message":"a request is calc/ROOM or sync/VERB, a new line and a document"}}`)
}
