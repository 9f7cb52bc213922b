package document_test

import (
	"strings"
	"testing"

	"gaugewright/calc/document"
)

// TestValuesAreBounded checks that a document may hold MaxValues values and not one more. A long
// list of numbers counts as one.
func TestValuesAreBounded(t *testing.T) {
	most := "[" + strings.Repeat("[],", document.MaxValues-2) + "[]]"
	if _, err := document.Parse([]byte(most)); err != nil {
		t.Error(err)
	}
	if _, err := document.Parse([]byte("[" + most + "]")); err == nil ||
		!strings.Contains(err.Error(), "too many values") {
		t.Errorf("one more: %v", err)
	}
	if _, err := document.Parse([]byte("[" + strings.Repeat("1,", 2*document.MaxValues) + "1]")); err != nil {
		t.Error("numbers:", err)
	}
}
