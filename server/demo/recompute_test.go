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

// layoutOf reads a paper back as lines of text.
func layoutOf(t *testing.T, file string) string {
	t.Helper()
	out, err := exec.Command("pdftotext", "-layout", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// recomputed finds the lines of a paper in English from whose figures a reader gets another error: by
// more than one unit of its last place, which both roundings together may make. It counts the lines.
func recomputed(t *testing.T, text string) (list []string, lines int) {
	t.Helper()
	form := lineOf
	if strings.Contains(text, "Error = measured − ideal") {
		form = signalLineOf
	}
	for _, m := range form.FindAllStringSubmatch(text, -1) {
		var x [3]float64
		for i := range x {
			plain := strings.Replace(strings.TrimPrefix(m[i+1], "+"), "−", "-", 1)
			var err error
			if x[i], err = strconv.ParseFloat(plain, 64); err != nil {
				t.Fatal(err)
			}
		}
		lines++
		_, decimals, _ := strings.Cut(m[3], ".")
		if unit := math.Pow(10, -float64(len(decimals))); math.Abs(x[1]-x[0]-x[2]) > unit*1.001 {
			list = append(list, fmt.Sprintf("%s − %s is not %s", m[2], m[1], m[3]))
		}
	}
	return list, lines
}

// TestRecomputedFindsWhatDiffers: lines as papers had them before are found, good ones are not.
func TestRecomputedFindsWhatDiffers(t *testing.T) {
	const signal = "Error = measured − ideal\n"
	for text, wrong := range map[string]int{
		"falling                23.90        24.1      +0.198     ±0.960   0.069   2.00    pass":            1,
		"falling               23.902        24.1      +0.198     ±0.960   0.069   2.00    pass":            0,
		signal + "rising   8.0   16.0000    16.000   +0.0005    +0.003   +0.0005   ±0.0400   0.0026   pass": 1,
		signal + "rising   8.0   16.0000   16.0005   +0.0005    +0.003   +0.0005   ±0.0400   0.0026   pass": 0,
	} {
		if list, lines := recomputed(t, text); len(list) != wrong || lines != 1 {
			t.Errorf("%d lines, %q in: %s", lines, list, text)
		}
	}
}
