package main

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/andybalholm/brotli"
)

type size struct {
	name              string
	raw, gzip, packed int
	requested         bool // fetched when somebody opens an area, and not before
}

// pressed says whether a file is worth a compressed copy; pictures are compressed already.
func pressed(name string) bool {
	switch filepath.Ext(name) {
	case ".js", ".css", ".html", ".svg", ".webmanifest", ".wasm", ".map":
		return true
	}
	return false
}

// writeAll writes the files and their .gz and .br copies; a hashed file that is there with both copies is left as it is.
func writeAll(dist string, out files) ([]size, error) {
	keep := map[string]bool{}
	for _, name := range out.names() {
		if !strings.HasPrefix(name, "assets/") {
			continue
		}
		old, err := os.ReadFile(filepath.Join(dist, filepath.FromSlash(name)))
		if err == nil && bytes.Equal(old, out[name]) {
			keep[name], keep[name+".gz"], keep[name+".br"] = true, true, true
		}
	}
	if err := removeOld(dist, keep); err != nil {
		return nil, fmt.Errorf("clear %s: %w", dist, err)
	}
	var sizes []size
	for _, name := range out.names() {
		s, err := writeOne(filepath.Join(dist, filepath.FromSlash(name)), name, out[name])
		if err != nil {
			return nil, err
		}
		sizes = append(sizes, s)
	}
	return sizes, nil
}

func writeOne(file, name string, body []byte) (size, error) {
	s := size{name: name, raw: len(body), gzip: len(body), packed: len(body)}
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		return s, err
	}
	if err := os.WriteFile(file, body, 0o644); err != nil {
		return s, err
	}
	if !pressed(name) {
		return s, nil
	}
	var err error
	if s.gzip, err = copyPressed(file+".gz", body, func(w io.Writer) (io.WriteCloser, error) { return gzip.NewWriterLevel(w, gzip.BestCompression) }); err != nil {
		return s, fmt.Errorf("%s.gz: %w", name, err)
	}
	if s.packed, err = copyPressed(file+".br", body, func(w io.Writer) (io.WriteCloser, error) {
		return brotli.NewWriterLevel(w, brotli.BestCompression), nil
	}); err != nil {
		return s, fmt.Errorf("%s.br: %w", name, err)
	}
	return s, nil
}

func copyPressed(file string, body []byte, press func(io.Writer) (io.WriteCloser, error)) (int, error) {
	if info, err := os.Stat(file); err == nil {
		return int(info.Size()), nil
	}
	var buf bytes.Buffer
	w, err := press(&buf)
	if err != nil {
		return 0, err
	}
	if _, err := w.Write(body); err != nil {
		return 0, err
	}
	if err := w.Close(); err != nil {
		return 0, err
	}
	return buf.Len(), os.WriteFile(file, buf.Bytes(), 0o644)
}

// budget is the most that a group of files may weigh, compressed with brotli or with gzip, and why.
type budget struct {
	what   string
	most   int
	counts func(s *size) bool
	gzip   bool
}

func is(name string, prefixes ...string) bool {
	return slices.ContainsFunc(prefixes, func(p string) bool { return strings.HasPrefix(name, "assets/"+p+"-") })
}

func code(name string) bool { return strings.HasSuffix(name, ".js") || strings.HasSuffix(name, ".css") }

// The areas whose scripts are fetched when somebody opens them, and not before.
var (
	onRequest = []string{"office", "sync", "standards", "methods", "budget", "outlook", "air", "asked"}
	device    = []string{"settings"}
	systems   = []string{"trace", "record", "leak", "switch", "burst", "particulars"}
	writing   = []string{"programme", "programmes", "method-preview", "asked"}
	codes     = []string{"share-code", "scanner"}
	choosing  = []string{"standard"}
	giving    = []string{"give"}
	forms     = []string{"kinds"}
	planning  = []string{"rounds", "ahead"}
)

// imported finds what a script of the page imports, now or later.
var imported = regexp.MustCompile(`"\./([\w-]+\.js)"`)

// markRequested marks the scripts that nothing but these areas brings to a device: themselves, and what only they share.
func markRequested(sizes []size, out files) {
	areas := slices.Concat(onRequest, device, systems, writing, codes, giving, choosing, forms, planning)
	later, start := map[string]bool{}, map[string]bool{}
	var walk func(name string, seen map[string]bool, into bool)
	walk = func(name string, seen map[string]bool, into bool) {
		if seen[name] || !into && is(name, areas...) {
			return
		}
		seen[name] = true
		for _, m := range imported.FindAllSubmatch(out[name], -1) {
			walk("assets/"+string(m[1]), seen, into)
		}
	}
	for _, name := range out.names() {
		if is(name, areas...) {
			walk(name, later, true)
		}
		if is(name, "main") {
			walk(name, start, false)
		}
	}
	for i := range sizes {
		sizes[i].requested = later[sizes[i].name] && !start[sizes[i].name]
	}
}

// budgets; the goal of the first is 60,000, which the runner of every kind of work has passed by a fortieth.
var budgets = []budget{
	{"scripts and styles without the scanner and what is opened on request: a first visit over a weak line", 60_000, func(s *size) bool { return code(s.name) && !is(s.name, "scanworker") && !s.requested }, false},
	{"what is opened on request: the office, its sync, standards, methods, budgets, outlooks, pitot-static work", 56_200, func(s *size) bool {
		return s.requested && !is(s.name, systems...) && !is(s.name, writing...) && !is(s.name, codes...) && !is(s.name, choosing...) && !is(s.name, giving...) && !is(s.name, device...) &&
			!is(s.name, forms...) && !is(s.name, planning...)
	}, false},
	{"what is opened on request: this device", 2_000, func(s *size) bool { return s.requested && is(s.name, device...) }, false},
	{"what is opened on request: loggers' files, leak, switch and burst work", 14_000, func(s *size) bool { return s.requested && is(s.name, systems...) }, false},
	{"what is opened on request: programmes written and run, their questions, a visit's certificates and corrections", 14_000, func(s *size) bool { return s.requested && is(s.name, writing...) }, false},
	{"what is opened on request: the scanner's screen, a programme as a code", 9_500, func(s *size) bool { return s.requested && is(s.name, codes...) }, false},
	{"what is opened on request: a method given to instruments", 1_800, func(s *size) bool { return s.requested && is(s.name, giving...) }, false},
	{"what is opened on request: the forms of methods of every kind and of what their instruments are", 11_500, func(s *size) bool { return s.requested && is(s.name, forms...) }, false},
	{"what is opened on request: rounds planned, and those of the coming days", 7_000, func(s *size) bool { return s.requested && is(s.name, planning...) }, false},
	{"what is opened on request: the choice of a standard", 3_000, func(s *size) bool { return s.requested && is(s.name, choosing...) }, false},
	{"everything kept for offline work without calc.wasm", 200_000, func(s *size) bool { return !strings.HasSuffix(s.name, ".wasm") && !strings.HasSuffix(s.name, ".map") }, false},
}

// calcBudgets hold for the slim module only. A new room may raise them by its own size, on purpose.
var calcBudgets = []budget{
	{"calc.wasm, brotli: ten seconds over a weak line", 746_000, func(s *size) bool { return is(s.name, "calc") }, false},
	{"calc.wasm, gzip", 1_008_000, func(s *size) bool { return is(s.name, "calc") }, true},
}

// report prints the sizes and fails when a group weighs more than its budget.
func report(w io.Writer, sizes []size, budgets []budget) error {
	fmt.Fprintf(w, "%-44s %10s %9s %9s\n", "file", "raw", "gzip", "brotli")
	for _, s := range sizes {
		fmt.Fprintf(w, "%-44s %10d %9d %9d\n", s.name, s.raw, s.gzip, s.packed)
	}
	var errs []error
	for _, b := range budgets {
		sum := 0
		for i := range sizes {
			s := &sizes[i]
			switch {
			case !b.counts(s):
			case b.gzip:
				sum += s.gzip
			default:
				sum += s.packed
			}
		}
		fmt.Fprintf(w, "%s: %d of %d bytes\n", b.what, sum, b.most)
		if sum > b.most {
			errs = append(errs, fmt.Errorf("%s: %d bytes compressed, %d allowed", b.what, sum, b.most))
		}
	}
	return errors.Join(errs...)
}
