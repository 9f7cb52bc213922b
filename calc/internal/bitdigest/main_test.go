package main

import (
	"bufio"
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc"
)

var (
	documents = flag.Int("documents", 200, "how many documents of each calculation are compared: 200 or 10000")
	update    = flag.Bool("update", false, "write the golden file instead of comparing with it")
)

// TestGoldens compares the replies to generated documents with frozen ones, so that any change of a
// bit is seen. If the change is intended, -update freezes the replies again, and the commit says
// why.
func TestGoldens(t *testing.T) {
	var out bytes.Buffer
	w := bufio.NewWriter(&out)
	if !run(w, "frozen", "1", strconv.Itoa(*documents), nil) || w.Flush() != nil {
		t.Fatal("no digests")
	}
	file := filepath.Join("..", "..", "..", "testdata", "goldens", strconv.Itoa(*documents)+".txt")
	if *update {
		if err := os.WriteFile(file, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	frozen, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range difference(string(frozen), out.String()) {
		t.Error(d)
	}
	if n := strings.Count(out.String(), "\n"); n < len(calc.Calculations()) {
		t.Errorf("%d lines for %d calculations", n, len(calc.Calculations()))
	}
}

// difference names each block of documents whose digest or number of refusals differs from the
// frozen one.
func difference(frozen, now string) (all []string) {
	blocks := func(text string) (keys []string, ends map[string]string) {
		ends = map[string]string{}
		for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
			f := strings.Fields(line)
			if len(f) != 5 {
				all = append(all, "a line reads "+strconv.Quote(line))
				continue
			}
			key := strings.Join(f[:3], " ")
			if _, twice := ends[key]; twice {
				all = append(all, key+" is there twice")
			}
			keys, ends[key] = append(keys, key), f[3]+", "+f[4]+" refused"
		}
		return keys, ends
	}
	was, old := blocks(frozen)
	is, fresh := blocks(now)
	for _, key := range is {
		if old[key] != fresh[key] {
			all = append(all, key+" (calculation, first seed, documents): now "+fresh[key]+"; frozen "+old[key])
		}
	}
	for _, key := range was {
		if _, ok := fresh[key]; !ok {
			all = append(all, key+": frozen, and not calculated any more")
		}
	}
	return all
}

func TestDifferenceIsSeen(t *testing.T) {
	const frozen = "air 1 200 00ff 0\nleak 1 200 11aa 3\n"
	for now, want := range map[string]string{
		frozen:                                  "",
		"air 1 200 00fe 0\nleak 1 200 11aa 3\n": "air 1 200",
		"air 1 200 00ff 1\nleak 1 200 11aa 3\n": "1 refused",
		"leak 1 200 11aa 3\n":                   "not calculated any more",
		frozen + "switch 1 200 22bb 0\n":        "switch 1 200",
		"":                                      "not calculated any more",
		"air 1 200 00ff 0\nleak 1 200 11aa 3 more": "a line reads",
		"<<<<<<< HEAD\n" + frozen:                  "a line reads",
		frozen + frozen:                            "air 1 200 is there twice",
	} {
		got := strings.Join(difference(frozen, now), "\n")
		if (want == "") != (got == "") || !strings.Contains(got, want) {
			t.Errorf("%q: %q, want %q", now, got, want)
		}
	}
}
