package link_test

import (
	"os"
	"regexp"
	"strconv"
	"testing"

	"gaugewright/sync/link"
)

// TestClientKnowsMaxRefusals checks that the client takes a list of refusals for whole by the number
// after which a server cuts it.
func TestClientKnowsMaxRefusals(t *testing.T) {
	b, err := os.ReadFile("../../webapp/src/store/outbox.ts")
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(`const mostRefusals = (\d+);`).FindSubmatch(b)
	if m == nil || string(m[1]) != strconv.Itoa(link.MaxRefusals) {
		t.Errorf("the client has %q, a server tells of %d", m, link.MaxRefusals)
	}
}
