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
	requested         bool // fetched only when somebody opens an area
}

// compressed reports whether a file is worth a compressed copy; pictures are compressed already.
func compressed(name string) bool {
	switch filepath.Ext(name) {
	case ".js", ".css", ".html", ".svg", ".webmanifest", ".wasm", ".map":
		return true
	}
	return false
}

// writeAll writes the files and their .gz and .br copies. It leaves a hashed file as it is if it
// and both copies are there.
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
	if !compressed(name) {
		return s, nil
	}
	var err error
	if s.gzip, err = copyCompressed(file+".gz", body, func(w io.Writer) (io.WriteCloser, error) { return gzip.NewWriterLevel(w, gzip.BestCompression) }); err != nil {
		return s, fmt.Errorf("%s.gz: %w", name, err)
	}
	if s.packed, err = copyCompressed(file+".br", body, func(w io.Writer) (io.WriteCloser, error) {
		return brotli.NewWriterLevel(w, brotli.BestCompression), nil
	}); err != nil {
		return s, fmt.Errorf("%s.br: %w", name, err)
	}
	return s, nil
}

func copyCompressed(file string, body []byte, compress func(io.Writer) (io.WriteCloser, error)) (int, error) {
	if info, err := os.Stat(file); err == nil {
		return int(info.Size()), nil
	}
	var buf bytes.Buffer
	w, err := compress(&buf)
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

// budget is the most that a group of files may weigh, compressed with brotli or with gzip, and the
// reason.
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

// area is a part of the client whose scripts are fetched only when somebody opens it.
type area struct {
	what string
	most int // bytes with brotli
	begin
	apart bool // not kept for offline work: it does nothing without the server, or few people want it
}

// begin are the beginnings of the names of an area's scripts.
type begin []string

// areas: a script counts for the first area that names it. What several areas share counts for the
// last one.
var areas = []area{
	{what: "this device", most: 2_500, begin: begin{"settings", "language"}},
	{
		what: "loggers' files, leak, switch and burst work", most: 14_000,
		begin: begin{"trace", "record", "leak", "switch", "burst", "particulars"},
	},
	{what: "programmes written and run, their questions, a visit's certificates and corrections", most: 15_000,
		begin: begin{"programme", "programmes", "method-preview", "asked"}},
	{what: "the scanner's screen, a programme as a code", most: 9_500, begin: begin{"share-code", "scanner", "code-grid"}},
	{what: "a method given to instruments", most: 1_800, begin: begin{"give"}},
	{what: "a visit begun by another method", most: 1_500, begin: begin{"other-method"}},
	{what: "results of the past that were brought in", most: 1_500, begin: begin{"earlier"}},
	{what: "work orders on an instrument", most: 1_200, begin: begin{"orders"}},
	{what: "another instrument in the place of one", most: 1_200, begin: begin{"exchange"}, apart: true},
	{what: "records taken out", most: 1_800, begin: begin{"take-out"}, apart: true},
	{what: "a list of instruments brought in", most: 5_500, begin: begin{"bring-in", "bring-results"}, apart: true},
	{what: "a sheet of past results brought in", most: 3_000, begin: begin{"bring-results"}, apart: true},
	{what: "keys of people and the laboratory, personal values erased", most: 6_000, begin: begin{"signing", "erase"}, apart: true},
	{what: "the forms of methods of every kind and of what their instruments are", most: 13_000, begin: begin{"kinds"}},
	{what: "rounds planned, and those of the coming days", most: 7_800, begin: begin{"rounds", "ahead"}},
	{what: "help", most: 2_800, begin: begin{"help"}},
	{what: "what to bring, the summary of the day, messages", most: 4_500, begin: begin{"today", "messages"}},
	{what: "a visit: its way", most: 2_500, begin: begin{"visit"}},
	{what: "a run, step by step", most: 6_500, begin: begin{"runner"}},
	// Each gauge's own height, without which the head correction of a tall manifold is wrong.
	{what: "several gauges on one manifold", most: 5_000, begin: begin{"manifold", "together"}},
	{what: "the drawing of what is connected to what, by kind of work", most: 2_300, begin: begin{"connection"}},
	{what: "the choice of a standard", most: 3_000, begin: begin{"standard"}},
	{what: "what stops the work, and the questions before it that can", most: 4_500, begin: begin{"stopping"}},
	{
		what: "what follows a run: remarks and photos, bypasses, work that cannot be done today",
		most: 6_500, begin: begin{"finishing"},
	},
	{what: "the key that signs: kept, since a visit is signed without a line", most: 1_700, begin: begin{"keys"}},
	{what: "photos that are sent, news of the office, what was erased", most: 1_800, begin: begin{"pieces", "news", "erased"}},
	{what: "a part of a large plant: held, fetched and taken along", most: 6_000, begin: begin{"hold", "held", "shown", "elsewhere", "along"}},
	{what: "calculations of a laboratory beside its visits", most: 4_500, begin: begin{"calculate"}},
	{
		what: "accounts, one's own and others', and the ways in", most: 8_600,
		begin: begin{"account", "further", "ways", "people", "events"}, apart: true,
	},
	{what: "German, all of it in one script", most: 90_000, begin: begin{"german"}, apart: true},
	{what: "results of the years and the advice on intervals", most: 7_000, begin: begin{"figures"}, apart: true},
	{what: "what other systems and calendars are given, and mail", most: 5_200, begin: begin{"machines"}, apart: true},
	{what: "the office's queue, look-backs, state of the plant, competences, approvals of methods", most: 12_000,
		begin: begin{"queue", "state", "lookbacks", "competence", "approvals"}, apart: true},
	{what: "the work of the next year, a week's rounds", most: 4_800, begin: begin{"planning"}, apart: true},
	{what: "the office's register", most: 8_000, begin: begin{"register"}, apart: true},
	// 109,340 since the members of what changed are listed by name and tokens have sites.
	{what: "the office, its sync, standards, methods, budgets, outlooks, pitot-static work, and what areas share", most: 109_800,
		begin: begin{"office", "desk", "sync", "standards", "methods", "budget", "outlook", "air", "asked", "shown", "objections"}},
}

// of returns the area that a script counts for: the first one with a matching beginning, or else
// the last.
func of(name string) *area {
	for i := range areas {
		if is(name, areas[i].begin...) {
			return &areas[i]
		}
	}
	return &areas[len(areas)-1]
}

// imported matches what a script of the page imports, at once or later.
var imported = regexp.MustCompile(`"\./([\w-]+\.js)"`)

// markRequested marks the scripts that reach a device only through these areas: the areas' own and
// those that only they share.
func markRequested(sizes []size, out files) {
	var starts []string
	for i := range areas {
		starts = append(starts, areas[i].begin...)
	}
	later, start := map[string]bool{}, map[string]bool{}
	var walk func(name string, seen map[string]bool, into bool)
	walk = func(name string, seen map[string]bool, into bool) {
		if seen[name] || !into && is(name, starts...) {
			return
		}
		seen[name] = true
		for _, m := range imported.FindAllSubmatch(out[name], -1) {
			walk("assets/"+string(m[1]), seen, into)
		}
	}
	for _, name := range out.names() {
		if is(name, starts...) {
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

// kept reports whether a file is kept on the device for offline work.
func kept(s *size) bool {
	return !is(s.name, verifyPart) && !strings.HasSuffix(s.name, ".wasm") && !strings.HasSuffix(s.name, ".map") && !(s.requested && of(s.name).apart)
}

// budgets are what groups of files may weigh, each with a few hundredths of room above what was
// measured when it was set, so that a small mend never stops a build. The goal of the first is
// 60,000, and of everything that is kept 200,000, which is not met: holding a part of a large plant
// took 6,000 of it, and saves such a plant's phones hundreds of megabytes; the drawing of how a test
// is connected took 1,900, another method for a visit 1,300 with its line in help, and clearing a
// device at a log-out 1,500: all are wanted without a line. A visit is no part of the first: the
// round, the search and an instrument show without it.
func budgets() []budget {
	list := []budget{{"scripts and styles without the scanner and what is opened on request: a first visit over a weak line", 61_000,
		func(s *size) bool { return code(s.name) && !is(s.name, "scanworker", verifyPart) && !s.requested }, false},
		{"the page where anybody checks a certificate, in both languages", 6_700, func(s *size) bool { return is(s.name, verifyPart) }, false}}
	for i := range areas {
		list = append(
			list,
			budget{
				"opened on request: " + areas[i].what, areas[i].most,
				func(s *size) bool { return s.requested && of(s.name) == &areas[i] }, false,
			},
		)
	}
	return append(list, budget{"everything kept for offline work without calc.wasm", 300_000, kept, false})
}

// calcBudgets hold for the slim module only. A new calculation may raise them by its own size, on
// purpose. With brotli, the rules of a visit and the choice of a standard, which the office has
// too, weigh 22,000; what to bring for a day and how far a run has come, 8,000; where the fields of
// an instrument and a standard go, and where a pitot-static run is, 6,000; service, barometers,
// look-backs over meters and newer forms of a change, 10,000; rules of instruments, rounds,
// figures, a programme's rehearsal, what is erased and how a standard changed, 20,000.
var calcBudgets = []budget{
	{"calc.wasm, brotli: ten seconds over a weak line", 935_000, func(s *size) bool { return is(s.name, "calc") }, false},
	{"calc.wasm, gzip", 1_285_000, func(s *size) bool { return is(s.name, "calc") }, true},
}

// report prints the sizes and fails if a group weighs more than its budget.
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
