package calctest

import (
	"testing"

	"gaugewright/calc/document"
)

// Run runs a calculation on a document, without its name and version, and returns a reader of its
// reply. It ends the test if the document or the reply is faulty.
func Run(t testing.TB, call func(in *document.Reader, out *document.Writer) error, doc string) *document.Reader {
	t.Helper()
	r, err := Try(call, doc)
	if err != nil {
		t.Fatalf("%v\n%s", err, doc)
	}
	return r
}

// Try is Run for a document that may be refused.
func Try(call func(in *document.Reader, out *document.Writer) error, doc string) (*document.Reader, error) {
	v, err := document.Parse([]byte(doc))
	if err != nil {
		return nil, err
	}
	in, out := document.Open(v), document.NewWriter(nil)
	out.Begin()
	if err := call(in, out); err != nil {
		return nil, err
	}
	if err := in.Done(); err != nil {
		return nil, err
	}
	out.End()
	if err := out.Err(); err != nil {
		return nil, err
	}
	reply, err := document.Parse(out.Bytes())
	if err != nil {
		return nil, err
	}
	return document.Open(reply), nil
}

// Open parses a document and returns its reader.
func Open(t testing.TB, doc string) *document.Reader {
	t.Helper()
	v, err := document.Parse([]byte(doc))
	if err != nil {
		t.Fatalf("%v\n%s", err, doc)
	}
	return document.Open(v)
}
