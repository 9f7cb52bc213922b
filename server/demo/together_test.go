package demo_test

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
)

// The printed area of a page in mm, and what a section may be shorter than it and yet be broken: a
// chart is drawn into a frame with room above and below.
const (
	topOfPage, belowPage = 30.0, 25.0

	frame = 12.0
)

// section is the results of a run on paper: how many mm of each page it takes up so far, and to its last
// chart; and on which page the last table before a chart is.
type section struct {
	name          string
	table, charts int
	soFar, taken  map[int]float64
}

// parted finds charts that are not with their table: the first chart of a run is on a page with
// the heads and rows of the table above it, and a run whose table and charts fit on one page is not
// broken.
func parted(pages [][]box, on sheetOf, tall float64) (list []string) {
	var now *section
	end := func() {
		if now == nil || now.charts == 0 || len(now.taken) == 1 {
			now = nil
			return
		}
		sum := 0.0
		for _, mm := range now.taken {
			sum += mm
		}
		if sum+frame < tall-topOfPage-belowPage {
			list = append(list, fmt.Sprintf("%s fits on one page with its charts, %.0f mm, and is broken", now.name, sum))
		}
		now = nil
	}
	for n, boxes := range pages {
		from := 0.0 // where the section begins on this page
		for _, line := range linesOf(body(boxes, tall)) {
			text, right := line[0].text(), line[len(line)-1].text()
			switch {
			case text == on.said("Results as found") || text == on.said("Results as left, after adjustment"):
				end()
				now, from = &section{name: text, table: -1, soFar: map[int]float64{}}, line[0].words[0].y0
			case now == nil:
				continue
			case ended(text, on):
				end()
				continue
			case from == 0:
				from = line[0].words[0].y0
			}
			now.soFar[n] = line[0].words[0].y1 - from
			switch {
			case right == on.said("verdict"):
				now.table = n
			case isAxis(right, on):
				if now.charts == 0 && now.table != n {
					list = append(list, fmt.Sprintf("page %d has a chart of %s whose table ends before", n+1, now.name))
				}
				now.charts++
				now.taken = maps.Clone(now.soFar)
			}
		}
	}
	end()
	return list
}

// body returns the words between the head and the foot of a page.
func body(boxes []box, tall float64) []box {
	return slices.DeleteFunc(slices.Clone(boxes), func(b box) bool { return b.y0 < topOfPage-4 || b.y0 > tall-belowPage+5 })
}

// ended reports whether a line is the heading after the results.
func ended(text string, on sheetOf) bool {
	for _, heading := range []string{
		"Measurement uncertainty", "Course of the programme as found", "Course of the programme as left",
	} {
		if text == on.said(heading) {
			return true
		}
	}
	return false
}

// isAxis reports whether a text labels an axis below a chart.
func isAxis(text string, on sheetOf) bool {
	for _, axis := range []string{"applied pressure, ", "applied, "} {
		if told := strings.TrimSuffix(on.said(axis+"{}"), "{}"); strings.HasPrefix(text, told) {
			return true
		}
	}
	return text == on.said("time, s") || text == on.said("cycle")
}

// loose matches the end of a line and the beginning of the next between which no line ends: a number
// and its unit, the parts of a date, a sign and its numbers.
var loose = regexp.MustCompile(`[=±…×]\n|\n[=±…×] |\d\n(bar|mbar|kPa|Pa|hPa|psi|%|°C|mA|ft|kt|m|s)[.,;:)]?( |$)|` +
	`\d\.?\n(January|February|March|April|May|June|July|August|September|October|November|December|Januar|Februar|März|Mai|Juni|Juli|Oktober|Dezember) |` +
	` \d\d?\.? [A-Z]\S+\n20\d\d`)

// torn finds lines of a page that end within a quantity or a date. Lines are those of one column: each
// begins where the one before it does.
func torn(boxes []box, tall float64) (list []string) {
	var before cell
	for _, line := range linesOf(body(boxes, tall)) {
		last := line[len(line)-1]
		if first := line[0]; len(line) == 1 && max(first.x0-before.x0, before.x0-first.x0) < 0.5 {
			if found := loose.FindString(before.text() + "\n" + first.text()); found != "" {
				list = append(list, fmt.Sprintf("a line ends within %q", found))
			}
		}
		before = last
	}
	return list
}
