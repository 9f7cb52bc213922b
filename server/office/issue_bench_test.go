package office_test

import (
	"fmt"
	"testing"

	"gaugewright/server/office"
)

// BenchmarkIssue issues certificates with their machine-readable form, signed and kept, one after
// another: go test ./server/office -run NONE -bench Issue -benchtime 1000x.
func BenchmarkIssue(b *testing.B) {
	p := newPlace(b)
	visits := make([]string, b.N)
	for i := range visits { // approved without a letterhead, so without a certificate
		visits[i] = p.visit(fmt.Sprint("PI-", i))
		if _, err := p.office.Approve(b.Context(), reviewer, visits[i], p.covers(visits[i]), "", "", office.Sheet{}); err != nil {
			b.Fatal(err)
		}
		p.phone.Count += 10 // past what the approval wrote
	}
	if _, err := p.office.SetLetterhead(office.Letterhead{Name: "Works laboratory", Address: []string{"1 Dock Road"},
		Customer: []string{"Works North"}, Country: "NL"}); err != nil {
		b.Fatal(err)
	}
	b.ResetTimer()
	for _, visit := range visits {
		out, err := p.office.Issue(b.Context(), reviewer, visit, office.Sheet{Base: "https://office.example"})
		if err != nil || out.Number == "" {
			b.Fatal(out, err)
		}
	}
}
