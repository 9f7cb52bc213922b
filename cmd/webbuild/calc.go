package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// buildFlags of the linked module. Calculations are compiled without inlining, which makes the
// module 2 % smaller. The hot packages keep inlining (document: 8 % of a gauge's time, programme:
// 10 % of a check's).
var buildFlags = []string{
	"-buildmode=c-shared", "-trimpath", "-ldflags=-s -w",
	"-gcflags=gaugewright/calc/...=-l", "-gcflags=gaugewright/sync/...=-l", "-gcflags=gaugewright/calc/numeric=", "-gcflags=gaugewright/calc/trace=",
	"-gcflags=gaugewright/calc/document=", "-gcflags=gaugewright/calc/programme=",
}

// calcModule returns the bytes of the calculation as WebAssembly. They are slim unless the linker's
// layout is unknown, which whole reports.
func calcModule(p plan) (body []byte, whole bool, err error) {
	file := p.wasm
	if file == "" {
		dir, err := os.MkdirTemp("", "webbuild")
		if err != nil {
			return nil, false, fmt.Errorf("calc.wasm: %w", err)
		}
		defer os.RemoveAll(dir)
		file = filepath.Join(dir, "calc.wasm")
		cmd := exec.Command("go", append(append([]string{"build"}, buildFlags...), "-o", file, "./cmd/gaugewasm")...)
		cmd.Dir = p.root
		cmd.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm")
		cmd.Stderr = os.Stderr
		if err := cmd.Run(); err != nil {
			return nil, false, fmt.Errorf("build of calc.wasm: %w", err)
		}
	}
	linked, err := os.ReadFile(file)
	if err != nil {
		return nil, false, fmt.Errorf("calc.wasm: %w", err)
	}
	body, err = slim(linked)
	if errors.Is(err, errLayout) {
		fmt.Fprintf(os.Stderr, "webbuild: %v: calc.wasm stays as it was linked, and larger\n", err)
		return linked, true, nil
	}
	if err != nil {
		return nil, false, fmt.Errorf("calc.wasm: %w", err)
	}
	return body, false, nil
}

func writeModule(p plan, file string) error {
	body, _, err := calcModule(p)
	if err != nil {
		return err
	}
	if err := os.WriteFile(file, body, 0o644); err != nil {
		return fmt.Errorf("calc.wasm: %w", err)
	}
	return nil
}
