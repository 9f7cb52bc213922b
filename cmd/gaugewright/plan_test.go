package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// written puts files into a new folder.
func written(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

const poorText = "unit kPa gauge\nset 500\nread a from gauge\nvent\n"

func TestPlanCheck(t *testing.T) {
	dir := written(t, map[string]string{
		"facts.json":         `{"instrument":{"low":0,"high":"1000"},"standard":{"low":0,"high":700,"max_rate":20}}`,
		"set/good.txt":       "\xEF\xBB\xBFunit kPa gauge\r\nset 500 at 10/s\r\nhold 60 s\r\nread a from gauge\r\nvent\r\n",
		"set/facts.json":     `{"instrument":{"low":0,"high":1}}`,
		"set/deep/bar.txt":   "unit bar gauge\nset 7.5\nvent\n",
		"set/.kept/torn.txt": "unit",
		"set/notes.md":       "not a programme",
		"high.txt":           "unit kPa gauge\nset 800\nread a from gauge\nvent\n",
		"poor.txt":           poorText,
		"torn.txt":           "unit kPa gauge\nset 500 at\n",
		"shared.json":        `{"gaugewright":"programme","name":"n","definition":{"kind":"programme","text":"unit bar gauge\nset 5\nhold 9 s\nread a from gauge\nvent\n","rules":[{"name":"b","low":"1"}]}}`,
		"method.json":        `{"kind":"programme","unit":"bar","mode":"gauge","steps":[{"do":"set","target":"5"},{"do":"vent"}]}`,
		"steps.json":         `[{"do":"unit","unit":"bar","mode":"gauge"},{"do":"set","target":"12"},{"do":"vent"}]`,
		"wrong.json":         `[{"do":"press"}]`,
		"torn.json":          `[{"do":`,
		"rows/one.txt":       poorText,
	})
	empty := written(t, map[string]string{"notes.md": "", "facts.json": "{}"})
	at := func(names ...string) (list []string) {
		for _, n := range names {
			list = append(list, filepath.Join(dir, n))
		}
		return list
	}
	with := append([]string{"--with"}, at("facts.json")...)
	ranges := []string{"--unit", "kPa", "--mode", "gauge", "--instrument", "0..1000", "--standard", "0..700"}
	for _, c := range []struct {
		args []string
		want string // in the output, without the folder
		bad  bool
	}{
		{append(with, at("set/good.txt")...), "1 programme checked: 0 errors, 0 warnings\n", false},
		{append(with, at("poor.txt")...), "poor.txt:3: warning: the pressure was changed and is read without a hold or settle in between [no_settling]\n1 programme checked: 0 errors, 1 warning\n", false},
		{
			append(with, at("set/good.txt", "high.txt", "torn.txt")...),
			"high.txt:2: error: 800 kPa is above the range of the standard (0 to 700 kPa) [outside_standard]\n",
			true,
		},
		{at("torn.txt", "poor.txt"), "torn.txt:2: error: here a number is expected", true},
		{at("set/good.txt"), "good.txt:1: warning: neither the instrument nor the standard is known", false},
		{append(ranges, at("set")...), "set/deep/bar.txt:2: error: 7.5 bar is above the range of the standard (0 to 7 bar) [outside_standard]\n2 programmes checked: 1 error, 0 warnings\n", true},
		{append(ranges, at("rows")...), "1 programme checked: 0 errors, 1 warning\n", false},
		{
			append([]string{"--weakest", "450", "--weakest-part", "hose"}, append(ranges, at("poor.txt")...)...),
			"poor.txt:2: error: 500 kPa is above what the weakest part withstands: hose, 450 kPa [above_weakest]\n",
			true,
		},
		{
			append([]string{"--relief", "500"}, append(ranges, at("poor.txt")...)...),
			"poor.txt:2: error: 500 kPa reaches the relief setting of 500 kPa [above_relief]\n", true,
		},
		{
			append([]string{"--instrument-rate", "9.9"}, append(ranges, at("set/good.txt")...)...),
			"good.txt:2: error: 10 kPa/s is faster than the instrument takes (9.9 kPa/s) [rate_instrument]\n",
			true,
		},
		{append([]string{"--start", "unknown"}, append(ranges, at("poor.txt")...)...), "[no_zero_check]\n", false},
		{append([]string{"--volume-m3", "0.1"}, append(ranges, at("poor.txt")...)...), "[stored_energy]\n", false},
		{append(ranges, at("method.json")...), "1 programme checked: 0 errors, 0 warnings\n", false},
		{
			append(ranges, at("steps.json")...),
			"steps.json:2: error: 12 bar is above the range of the instrument (0 to 10 bar) [outside_instrument]\n",
			true,
		},
		{
			append(ranges, at("shared.json")...),
			`shared.json:1: error: method.rules[0].name: no step gives a number called "b"`, true,
		},
		{append(ranges, at("wrong.json")...), "wrong.json:1: error: programme[0].do: ", true},
		{append(ranges, at("torn.json")...), "torn.json:1: error: it is not JSON", true},
	} {
		var out, warn bytes.Buffer
		err := plan(append([]string{"check"}, c.args...), nil, &out, &warn)
		if errors.Is(err, errRefused) != c.bad || err != nil && !c.bad {
			t.Errorf("%v: %v", c.args, err)
		}
		if got := strings.ReplaceAll(filepath.ToSlash(out.String()), filepath.ToSlash(dir)+"/", ""); !strings.Contains(got, c.want) {
			t.Errorf("%v: %s", c.args, got)
		}
	}
	var out bytes.Buffer
	for _, args := range [][]string{
		nil, at("poor.txt"), {"check"}, append([]string{"check"}, at("absent.txt")...), append(
			[]string{"check", "--with"}, at("poor.txt", "poor.txt")...,
		),
		append([]string{"check"}, at("facts.json")...), {"check", empty}, append(
			[]string{"check", "--with"}, at("method.json", "poor.txt")...,
		),
		append([]string{"check", "--standard", "0..700"}, at("poor.txt")...), append(
			[]string{"check", "--unit", "kPa", "--standard", "700"}, at("poor.txt")...,
		),
		append([]string{"check", "--unit", "kPa", "--standard-rate", "7"}, at("poor.txt")...), append(
			[]string{"check", "--unit", "metre", "--standard", "0..700"}, at("poor.txt")...,
		),
		append([]string{"check", "--unit", "kPa", "--instrument", "0..1000", "--vacuum", "perhaps"}, at("poor.txt")...),
	} {
		if err := plan(args, nil, &out, &out); err == nil || errors.Is(err, errRefused) {
			t.Errorf("%q: %v, want a message", args, err)
		}
	}
}
