package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestPlanCheck(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		t.Helper()
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	facts := write("facts.json", `{"instrument":{"low":0,"high":"1000"},"standard":{"low":0,"high":700,"max_rate":20}}`)
	good := write("good.txt", "\xEF\xBB\xBFunit kPa gauge\r\nset 500 at 10/s\r\nhold 60 s\r\nread a from gauge\r\nvent\r\n")
	high := write("high.txt", "unit kPa gauge\nset 800\nread a from gauge\nvent\n")
	poor := write("poor.txt", "unit kPa gauge\nset 500\nread a from gauge\nvent\n")
	torn := write("torn.txt", "unit kPa gauge\nset 500 at\n")
	for _, c := range []struct {
		args []string
		want string
		bad  bool
	}{
		{[]string{"--with", facts, good}, "", false},
		{[]string{"--with", facts, poor}, "poor.txt:3: warning no_settling ", false},
		{[]string{"--with", facts, good, high, torn}, "high.txt:2: error outside_standard 800 kPa is above the range of the standard (0 to 700 kPa)\n", true},
		{[]string{torn, good}, "torn.txt:2: error syntax here a number is expected", true},
		{[]string{good}, "good.txt:1: warning no_limits ", false},
	} {
		var out, warn bytes.Buffer
		err := plan(append([]string{"check"}, c.args...), nil, &out, &warn)
		if errors.Is(err, errRefused) != c.bad || err != nil && !c.bad {
			t.Errorf("%v: %v", c.args, err)
		}
		if !strings.Contains(out.String(), c.want) || (c.want == "") != (out.Len() == 0) {
			t.Errorf("%v: %s", c.args, out.String())
		}
	}
	var out bytes.Buffer
	for _, args := range [][]string{
		nil, {"run", good}, {"check"}, {"check", filepath.Join(dir, "absent.txt")}, {"check", "--with", good, good},
		{"check", "--with", write("programme.json", `{"programme":"vent"}`), good}, {"check", "--with", write("other.json", `{"colour":"red"}`), good},
	} {
		if err := plan(args, nil, &out, &out); err == nil || errors.Is(err, errRefused) {
			t.Errorf("%q: %v, want a message", args, err)
		}
	}
}
