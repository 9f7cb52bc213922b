package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"gaugewright/server/german"
)

var writeHome = flag.Bool("write", false, "write server/german/sentences.json")

const homeScript = `
import { known, valueWords } from "./src/words/de/say";
console.log(JSON.stringify({ Sentences: Object.entries(known), Words: valueWords }));
`

// TestOneHomeOfGerman: the German sentences on papers are those of the client. After changing one
// in the client, run: go test ./cmd/webbuild -run OneHomeOfGerman -args -write.
func TestOneHomeOfGerman(t *testing.T) {
	var home struct {
		Sentences [][2]string
		Words     map[string]string
	}
	inNode(t, homeScript, nil, &home)
	if len(home.Sentences) < 500 {
		t.Fatalf("the client has only %d sentences", len(home.Sentences))
	}
	var want bytes.Buffer
	line := func(before string, x any) {
		want.WriteString(before)
		enc := json.NewEncoder(&want)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(x); err != nil {
			t.Fatal(err)
		}
	}
	line(`{"Words":`, home.Words)
	for i, s := range home.Sentences {
		line([]string{`,"Sentences":[`, ","}[min(i, 1)], s)
	}
	want.WriteString("]}\n")
	file := filepath.Join("..", "..", "server", "german", "sentences.json")
	if *writeHome {
		if err := os.WriteFile(file, want.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := os.ReadFile(file); err != nil || !bytes.Equal(got, want.Bytes()) {
		t.Errorf("%s is not what the client has (-args -write writes it): %v", file, err)
	}
}

// TestPapersTellAsTheClient: papers show texts that people wrote, and texts that join sentences, as
// the client's screens do.
func TestPapersTellAsTheClient(t *testing.T) {
	asked := []string{
		"no burst", "disc 3: no burst up to the end limit", "Vapour space: detection limit", "Go to the roof",
		"this is finer than it can be read: the smallest step is 0.01 bar", "3 values are missing",
		"What is the colour of the valve?", "p2 - p1 = 0.3 is not below 0.2", "Cycle 1: 1,5 bar; as found",
		"Slowly, until K1 acts, and stop. The first change after a standstill counts: do not exercise the switch before it.",
		"as found, -1.5 bar. Nobody was there.\nas left", "", ". ", ", ", "a, ", "a: b; c", "as left, as found",
	}
	for i, translated := range tell(t, asked) {
		if got := german.Sentence(asked[i]); got != translated {
			t.Errorf("%q: %q on screens, %q on papers", asked[i], translated, got)
		}
	}
}
