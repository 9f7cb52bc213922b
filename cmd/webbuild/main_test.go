package main

import (
	"bytes"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestIconsAreOfTheirSizeAndMarked(t *testing.T) {
	for _, side := range []int{180, 192, 512} {
		body, err := iconPNG(side)
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(bytes.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		if img.Bounds().Dx() != side || img.Bounds().Dy() != side {
			t.Errorf("icon %d is %v", side, img.Bounds())
		}
		if img.At(side/2, side*19/64) == img.At(0, 0) {
			t.Errorf("icon %d: the limit line is not drawn", side)
		}
	}
}

func TestHashedNameFollowsContent(t *testing.T) {
	out := files{}
	a, b := out.addHashed("calc", ".wasm", []byte("a")), out.addHashed("calc", ".wasm", []byte("b"))
	if a == b || len(out) != 2 {
		t.Errorf("two contents under one name: %s %s", a, b)
	}
}

func TestPrecacheListsThePageAtTheRootAndLeavesOutMapsAndWorker(t *testing.T) {
	out := files{"index.html": []byte("x"), "assets/main-A.js": []byte("y"), "assets/main-A.js.map": nil, "sw.js": nil}
	got := precache(out)
	if len(got) != 2 || got[0].URL != "/assets/main-A.js" || got[1].URL != "/" {
		t.Errorf("got %v", got)
	}
	// The first 128 bits of the SHA-256 of "x", from sha256sum.
	if want := "2d711642b726b04401627ca9fbac32f5"; got[1].SHA256 != want {
		t.Errorf("hash %s, want %s", got[1].SHA256, want)
	}
}

func TestWriteAllReplacesOldFilesAndKeepsTheFolder(t *testing.T) {
	dist := t.TempDir()
	for _, f := range []string{".gitkeep", "old.js"} {
		if err := os.WriteFile(filepath.Join(dist, f), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	text := []byte(strings.Repeat("pressure ", 100))
	sizes, err := writeAll(dist, files{"assets/a-1.js": text, "icon.png": text})
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]bool{".gitkeep": true, "old.js": false, "assets/a-1.js.br": true, "assets/a-1.js.gz": true, "icon.png": true, "icon.png.br": false} {
		if _, err := os.Stat(filepath.Join(dist, name)); (err == nil) != want {
			t.Errorf("%s there: %v, want %v", name, err == nil, want)
		}
	}
	if len(sizes) != 2 || sizes[0].packed >= sizes[0].raw {
		t.Errorf("sizes %v", sizes)
	}
}

func TestBudgetHolds(t *testing.T) {
	if err := report(io.Discard, []size{{name: "assets/main-A.js", packed: budgets()[0].most}, {name: "assets/scanworker-A.js", packed: 30_000}}, budgets()); err != nil {
		t.Error(err)
	}
	if err := report(io.Discard, []size{{name: "assets/main-A.js", packed: budgets()[0].most}, {name: "assets/main-A.css", packed: 1}}, budgets()); err == nil {
		t.Error("one byte too many was not refused")
	}
	if err := report(io.Discard, []size{{name: "assets/calc-A.wasm", gzip: calcBudgets[1].most + 1, packed: 1}}, calcBudgets); err == nil {
		t.Error("one byte of gzip too many was not refused")
	}
}

// TestRequestedIsWhatOnlyAreasShare: a piece that an area shares with the start counts for the
// start.
func TestRequestedIsWhatOnlyAreasShare(t *testing.T) {
	out := files{
		"assets/main-A.js": []byte(
			`import{a}from"./chunk-1.js";const x=()=>import("./office-A.js");y=()=>import("./search-A.js")`,
		),
		"assets/search-A.js": []byte(`import"./chunk-2.js"`),
		"assets/office-A.js": []byte(`import"./chunk-2.js";import{b}from"./chunk-3.js";()=>import("./trace-A.js")`),
		"assets/trace-A.js":  []byte(`import"./chunk-4.js"`),
		"assets/chunk-1.js":  nil, "assets/chunk-2.js": nil, "assets/chunk-3.js": nil, "assets/chunk-4.js": nil, "assets/calcworker-A.js": nil,
	}
	var sizes []size
	for _, name := range out.names() {
		sizes = append(sizes, size{name: name})
	}
	markRequested(sizes, out)
	want := map[string]bool{
		"assets/office-A.js": true, "assets/trace-A.js": true, "assets/chunk-3.js": true,
		"assets/chunk-4.js": true,
	}
	for _, s := range sizes {
		if s.requested != want[s.name] {
			t.Errorf("%s requested: %v", s.name, s.requested)
		}
	}
}
