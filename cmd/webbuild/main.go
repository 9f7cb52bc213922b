package main

import (
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

func main() {
	root := flag.String("root", ".", "root of the source tree")
	wasm := flag.String("wasm", "", "a calc.wasm that is already built, instead of building it")
	tests := flag.Bool("test", false, "bundle the unit tests to bin/webtest and nothing else")
	maps := flag.Bool("maps", false, "write source maps beside the scripts")
	module := flag.String("module", "", "write calc.wasm to this file and nothing else")
	types := flag.Bool("types", false, "write the client's types of the calculations and nothing else")
	checkTypes := flag.Bool("check-types", false, "say whether the client's types of the calculations are out of date")
	flag.Parse()
	p := plan{root: *root, wasm: *wasm, maps: *maps}
	var err error
	switch {
	case *tests:
		err = bundleTests(p)
	case *types, *checkTypes:
		err = writeTypes(*root, *checkTypes)
	case *module != "":
		err = writeModule(p, *module)
	default:
		err = build(p)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "webbuild:", err)
		os.Exit(1)
	}
}

type plan struct {
	root, wasm string
	maps       bool
}

// build rewrites webapp/dist: hashed files under assets/, and sw.js, index.html, the manifest
// and the icons under fixed names.
func build(p plan) error {
	web := filepath.Join(p.root, "webapp")
	calc, whole, err := calcModule(p)
	if err != nil {
		return err
	}
	out := files{}
	calcName := out.addHashed("calc", ".wasm", calc)
	b := bundler{web: web, maps: p.maps}
	calcWorker, err := b.one("src/calcworker/calcworker.ts", map[string]string{"CALC_WASM": calcName}, out)
	if err != nil {
		return err
	}
	scanWorker, err := b.one("src/scanworker/scanworker.ts", nil, out)
	if err != nil {
		return err
	}
	styles, err := b.styles(out)
	if err != nil {
		return err
	}
	desk, err := b.deskStyles(out)
	if err != nil {
		return err
	}
	page, err := b.page(
		map[string]string{"CALC_WORKER": calcWorker, "SCAN_WORKER": scanWorker, "DESK_STYLES": desk}, out,
	)
	if err != nil {
		return err
	}
	if err := addIcons(out); err != nil {
		return err
	}
	out["index.html"] = indexPage(page, styles)
	out["manifest.webmanifest"] = manifest()
	if err := b.serviceWorker(out); err != nil {
		return err
	}
	if err := b.verifyPage(map[string]string{"SCAN_WORKER": scanWorker}, out); err != nil {
		return err
	}
	dist := filepath.Join(web, "dist")
	sizes, err := writeAll(dist, out)
	if err != nil {
		return err
	}
	markRequested(sizes, out)
	if whole {
		return report(os.Stdout, sizes, budgets())
	}
	return report(os.Stdout, sizes, append(budgets(), calcBudgets...))
}

// removeOld removes what an earlier build left, except the file that keeps the folder in the
// repository.
func removeOld(dist string, keep map[string]bool) error {
	err := filepath.WalkDir(dist, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dist, path)
		if err != nil {
			return err
		}
		if rel == ".gitkeep" || keep[filepath.ToSlash(rel)] {
			return nil
		}
		return os.Remove(path)
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
