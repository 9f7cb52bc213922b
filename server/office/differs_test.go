package office

import "testing"

// TestLaterVersionMaySayMore checks that a field an older calculation lacks is no difference, but a
// changed number is, and so is a new field from the same version.
func TestLaterVersionMaySayMore(t *testing.T) {
	kept := `{"verdict":"pass","points":[{"point":1,"u":0.5}],"calc":"1.0.0"}`
	for anew, same := range map[string]bool{
		`{"verdict":"pass","points":[{"point":1,"u":0.5,"risk":0.1}],"terms":[],"calc":"1.1.0"}`: true,
		`{"verdict":"pass","points":[{"point":1,"u":0.6,"risk":0.1}],"calc":"1.1.0"}`:            false,
		`{"verdict":"pass","points":[{"point":1,"u":0.5,"risk":0.1}],"calc":"1.0.0"}`:            false,
		`{"points":[{"point":1,"u":0.5}],"calc":"1.1.0"}`:                                        false,
	} {
		said, err := Differs([]byte(kept), []byte(anew))
		if err != nil || (said == "") != same {
			t.Errorf("%s: %q, %v", anew, said, err)
		}
	}
}
