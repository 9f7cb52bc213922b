package work

import (
	"strconv"

	"gaugewright/calc/document"
)

// OpenReason returns why a run is not judged yet: captures are missing, or it is not closed; "" if
// it is complete. what is "values" or "readings".
func OpenReason(missing int, closed bool, what string) string {
	switch {
	case missing > 0:
		return strconv.Itoa(missing) + " " + what + " are missing"
	case !closed:
		return "the run is not closed"
	}
	return ""
}

// RefuseTwice refuses a second capture of a step that takes one; what names it in the message.
func RefuseTwice(c *document.Reader, what string) {
	c.Fail(document.CodeConflict, "step", "this "+what+" is there twice; a correction supersedes the first")
}

// Direction returns the word for a rising or a falling approach.
func Direction(up bool) string {
	if up {
		return "up"
	}
	return "down"
}

// WriteMissing writes whether captures are missing, and of which steps.
func WriteMissing(out *document.Writer, missing []string) {
	out.Flag("complete", len(missing) == 0)
	out.BeginList("missing")
	for _, step := range missing {
		out.TextItem(step)
	}
	out.EndList()
}
