package demo_test

import (
	"fmt"
	"math"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// lineOf matches a line of a table of readings: applied and indicated, or ideal and measured, with
// the error between them.
var (
	lineOf       = regexp.MustCompile(`(?m)^ *(?:rising|falling)(?: \d+)? +(−?[\d.]+) +(−?[\d.]+) +([+−]?[\d.]+) +[±−+\d]`)
	signalLineOf = regexp.MustCompile(`(?m)^ *(?:rising|falling)(?: \d+)? +−?[\d.]+ +(−?[\d.]+) +(−?[\d.]+) +([+−]?[\d.]+) +[+−\d]`)
)

// recomputed finds the lines of a paper in English from whose figures a reader gets another error: by
// more than one unit of its last place, which both roundings together may make.
func recomputed(t *testing.T, file string) (list []string) {
	t.Helper()
	out, err := exec.Command("pdftotext", "-layout", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	lines := lineOf
	if strings.Contains(string(out), "Error = measured − ideal") {
		lines = signalLineOf
	}
	for _, m := range lines.FindAllStringSubmatch(string(out), -1) {
		var x [3]float64
		for i := range x {
			if x[i], err = strconv.ParseFloat(strings.Replace(strings.TrimPrefix(m[i+1], "+"), "−", "-", 1), 64); err != nil {
				t.Fatal(err)
			}
		}
		_, decimals, _ := strings.Cut(m[3], ".")
		if unit := math.Pow(10, -float64(len(decimals))); math.Abs(x[1]-x[0]-x[2]) > unit*1.001 {
			list = append(list, fmt.Sprintf("%s − %s is not %s", m[2], m[1], m[3]))
		}
	}
	return list
}

// TestRecomputedFindsWhatDiffers checks the check with lines as papers had them.
func TestRecomputedFindsWhatDiffers(t *testing.T) {
	for line, lines := range map[string]*regexp.Regexp{
		"falling                23.90        24.1      +0.198     ±0.960   0.069   2.00    pass":            lineOf,
		"rising            8.0   16.0000    16.000   +0.0005    +0.003   +0.0005   ±0.0400   0.0026   pass": signalLineOf,
	} {
		if m := lines.FindStringSubmatch(line); len(m) != 4 {
			t.Errorf("not read: %s", line)
		}
	}
}
