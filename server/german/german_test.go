package german_test

import (
	"testing"
	"time"

	"gaugewright/server/german"
)

func TestIn(t *testing.T) {
	for _, tt := range []struct {
		language, phrase string
		values           []string
		want             string
	}{
		{"de", "page {} of {}", []string{"1", "3"}, "Seite 1 von 3"},
		{"en", "page {} of {}", []string{"1", "3"}, "page 1 of 3"},
		{"", "No. {}", []string{"{}"}, "No. {}"},
		{"de", "nobody says {}", []string{"this"}, "nobody says this"},
		{"de", "page {} of {}", nil, "Seite  von "},
	} {
		if got := german.In(tt.language, tt.phrase, tt.values...); got != tt.want {
			t.Errorf("%s %q: %q, want %q", tt.language, tt.phrase, got, tt.want)
		}
	}
	if got := german.Fill("{2} of {1}, {}", "a", "b"); got != "b of a, a" {
		t.Error(got)
	}
	if got := german.Fill("a { b", "x"); got != "a { b" {
		t.Error(got)
	}
}

func TestSentence(t *testing.T) {
	for asked, want := range map[string]string{
		"3 values are missing":        "3 Werte fehlen",
		"Tank: detection limit":       "Tank: Nachweisgrenze",
		"Who stood by the valve?":     "Who stood by the valve?",
		"p2 - p1 = -0.3 is below 0.2": "p2 - p1 = -0,3 liegt unter 0,2",
		"held, at the instrument":     "held, am Prüfling",
	} {
		if got := german.Sentence(asked); got != want {
			t.Errorf("%q: %q, want %q", asked, got, want)
		}
	}
	if got := german.Mark("-1.50"); got != "−1,50" {
		t.Error(got)
	}
	if got := german.Day(time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC)); got != "4. März 2026" {
		t.Error(got)
	}
}
