package paper_test

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/server/dcc"
	"gaugewright/server/paper"
	"gaugewright/sync/statement"

	"codeberg.org/go-pdf/fpdf"
	"github.com/golang-jwt/jwt/v5"
)

var update = flag.Bool("update", false, "freeze testdata/papers again")

// private is the key of RFC 8037 appendix A.1.
func private(t *testing.T) ed25519.PrivateKey {
	t.Helper()
	seed, err := hex.DecodeString("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
	if err != nil {
		t.Fatal(err)
	}
	return ed25519.NewKeyFromSeed(seed)
}

// set is one small certificate with all its files.
type set struct {
	signed                 paper.Signed
	pdf, xml, record, list []byte
}

const xmlEnd = "</dcc:digitalCalibrationCertificate>\n"

func files(t *testing.T, replaced bool) set {
	t.Helper()
	key := private(t)
	bare := []byte("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<dcc:digitalCalibrationCertificate>\n" + xmlEnd)
	record := []byte(`{"format":"gaugewright-certificate-1","certificate":{"number":"2026-00007","issued":"2026-03-04",` +
		`"item":{"tag":"PI-1001","serial":"Ž 48211"}},"as_found":{"verdict":"fail"},"as_left":{"verdict":"pass"},` +
		`"replaces":"2026-00003"}`)
	code := paper.Code{Number: "2026-00007", Date: "2026-03-04", Found: "fail", Left: "pass", Item: "PI-1001/Ž 48211"}
	s := set{}
	var err error
	if s.signed, err = paper.SignRecord(key, record, code, bare); err != nil {
		t.Fatal(err)
	}
	p := fpdf.New("P", "mm", "A6", "")
	p.SetCreationDate(time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC))
	p.SetModificationDate(time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC))
	p.SetCatalogSort(true)
	p.SetAttachments([]fpdf.Attachment{
		{Content: bare, Filename: "certificate.xml"},
		{Content: s.signed.Record, Filename: paper.RecordName},
		{Content: []byte(s.signed.Signature), Filename: paper.SignatureName},
	})
	p.AddPage()
	var b bytes.Buffer
	if err := p.Output(&b); err != nil {
		t.Fatal(err)
	}
	if s.pdf, err = s.signed.Seal(key, b.Bytes()); err != nil {
		t.Fatal(err)
	}
	if s.xml, err = dcc.Enclose(bare, "certificate-2026-00007.pdf", s.pdf); err != nil {
		t.Fatal(err)
	}
	s.record = s.signed.File()
	l := paper.List{
		Format: paper.ListFormat, At: "2026-03-05T00:00:00Z", Replaced: []paper.Replaced{},
		Keys: []paper.Key{{Public: statement.PublicOf(key), From: "2026-01-01T00:00:00Z"}},
	}
	if replaced {
		l.Replaced = append(
			l.Replaced, paper.Replace("another", "2026-00002"),
			paper.Replace(paper.PrintOf(s.signed.Record), "2026-00011"),
		)
	}
	if s.list, err = l.Sign(key); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *set) listed(t *testing.T) *paper.List {
	t.Helper()
	l, err := paper.ReadList(s.list, nil)
	if err != nil {
		t.Fatal(err)
	}
	return &l
}

// all are the files that somebody may want to check.
func (s *set) all() map[string][]byte {
	return map[string][]byte{
		"certificate.pdf": s.pdf, "certificate.xml": s.xml, "record.json": s.record, "code.txt": []byte(s.signed.Code),
	}
}

// TestWhatIsSigned: the signed forms are frozen in testdata/papers, which also test the page in the
// browser.
func TestWhatIsSigned(t *testing.T) {
	s := files(t, true)
	l := s.listed(t)
	list := s.all()
	list["list.json"] = s.list
	for name, b := range list {
		frozen := filepath.Join("..", "..", "testdata", "papers", name)
		if *update {
			if err := os.WriteFile(frozen, b, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(frozen)
		if err != nil || !bytes.Equal(want, b) {
			t.Errorf(
				"%s is not as it is frozen (%v); if it is meant to change: go test ./server/paper -args -update", name,
				err,
			)
		}
	}
	for name, b := range s.all() {
		f, err := paper.Check(b, l)
		if err != nil || f.Number != "2026-00007" ||
			!strings.Contains(strings.Join(f.Notes, ";"), "certificate 2026-00011 replaces it") {
			t.Errorf("%s: %+v %v", name, f, err)
		}
		c := f.Code
		if name != "record.json" && (c == nil || c.Item != "PI-1001/Ž" || !c.Cut || c.Found != "fail" || c.Left != "pass" ||
			c.Date != "2026-03-04") {
			t.Errorf("%s: %+v", name, c)
		}
	}
	if n := len(s.signed.Code); n > 150 {
		t.Errorf("the code has %d characters", n)
	}
	plain := files(t, false)
	if f, err := paper.Check(plain.pdf, plain.listed(t)); err != nil || len(f.Notes) != 0 {
		t.Errorf("%+v %v", f, err)
	}
	if f, err := paper.Check(plain.record, plain.listed(t)); err != nil || len(f.Notes) != 1 ||
		!strings.Contains(f.Notes[0], "it replaces certificate 2026-00003") {
		t.Errorf("%+v %v", f, err)
	}
	if strings.Contains(string(s.list), "2026-00011") ||
		strings.Contains(string(s.list), paper.PrintOf(s.signed.Record)) {
		t.Error("the list reveals a number or a print without the certificate")
	}
}

// TestEveryBit flips every bit of what is signed: of the code, the record, the PDF, the XML and the
// list. With -short every 37th of the long ones, one bit in 4.6 bytes, is tried.
func TestEveryBit(t *testing.T) {
	s := files(t, true)
	l := s.listed(t)
	for name, b := range s.all() {
		step := 1
		if len(b) > 400 && testing.Short() {
			step = 37 // reaches every bit of a byte
		}
		for i := 0; i < 8*len(b); i += step {
			b[i/8] ^= 1 << (i % 8)
			if f, err := paper.Check(b, l); err == nil {
				t.Fatalf(
					"%s: bit %d of byte %d, near %q: %+v", name, i%8, i/8, b[max(0, i/8-10):min(len(b), i/8+10)], f,
				)
			}
			b[i/8] ^= 1 << (i % 8)
		}
	}
	step := 37
	if !testing.Short() {
		step = 1
	}
	for i := 0; i < 8*len(s.list); i += step {
		s.list[i/8] ^= 1 << (i % 8)
		if _, err := paper.ReadList(s.list, l.Keys); err == nil {
			t.Fatalf("list: bit %d of byte %d", i%8, i/8)
		}
		s.list[i/8] ^= 1 << (i % 8)
	}
}

// TestCutAndJoined checks that nothing is valid after a part was cut off or added.
func TestCutAndJoined(t *testing.T) {
	s := files(t, false)
	l := s.listed(t)
	at := bytes.LastIndex(s.pdf, []byte("%gaugewright-seal"))
	for what, b := range map[string][]byte{
		"without its seal": s.pdf[:at],
		"two seals":        append(bytes.Clone(s.pdf), s.pdf[at:]...),
		"more behind":      append(bytes.Clone(s.pdf), "%more\n"...),
		"no last line end": s.pdf[:len(s.pdf)-1],
		"empty":            nil,
		"xml without it":   []byte("<?xml version=\"1.0\"?>\n" + xmlEnd),
		"a code and more":  []byte(s.signed.Code + "A"),
		"lower case code":  []byte(strings.ToLower(s.signed.Code)),
	} {
		if f, err := paper.Check(b, l); err == nil {
			t.Errorf("%s: %+v", what, f)
		}
	}
	other := *l
	other.Keys = nil
	for name, b := range s.all() {
		if _, err := paper.Check(b, &other); err == nil {
			t.Errorf("%s is valid without a key", name)
		}
	}
	if _, err := paper.ReadList(s.list, []paper.Key{{Public: statement.PublicOf(ed25519.NewKeyFromSeed(make([]byte, 32)))}}); !errors.Is(err, paper.ErrNot) {
		t.Error("a list that another key signed:", err)
	}
}

func TestAKeyThatIsOutOfUse(t *testing.T) {
	s := files(t, false)
	l := s.listed(t)
	l.Keys[0].Why = "replaced"
	for name, b := range s.all() {
		l.Keys[0].Until = "2026-03-10T08:00:00Z"
		f, err := paper.Check(b, l)
		if err != nil ||
			!strings.Contains(strings.Join(f.Notes, ";"), "has been out of use since 2026-03-10T08:00:00Z: replaced") {
			t.Errorf("%s: %+v %v", name, f, err)
		}
		l.Keys[0].Until = "2026-03-03T08:00:00Z"
		if f, err := paper.Check(b, l); !errors.Is(err, paper.ErrNot) ||
			!strings.Contains(err.Error(), "out of use when it was issued") {
			t.Errorf("%s, issued after its key had ended: %+v %v", name, f, err)
		}
	}
}

// TestAnotherImplementation checks the record's signature with an independent JOSE library
// (golang-jwt), as RFC 7515 compact serialization.
func TestAnotherImplementation(t *testing.T) {
	s := files(t, false)
	var f struct{ Payload, Protected, Signature string }
	if err := json.Unmarshal(s.record, &f); err != nil {
		t.Fatal(err)
	}
	parse := func(compact string) (*jwt.Token, error) {
		return jwt.NewParser(jwt.WithValidMethods([]string{"EdDSA"})).Parse(compact, func(*jwt.Token) (any, error) {
			return private(t).Public(), nil
		})
	}
	token, err := parse(f.Protected + "." + f.Payload + "." + f.Signature)
	if err != nil || !token.Valid || token.Header["kid"] != "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k" { // RFC 8037 A.3
		t.Fatal(token, err)
	}
	if _, err := parse(f.Protected + "." + f.Payload[:20] + "B" + f.Payload[21:] + "." + f.Signature); err == nil {
		t.Error("an altered payload holds")
	}
}

// TestNamesInACode checks that names in every script are cut after a whole letter, and read back as
// far as they go.
func TestNamesInACode(t *testing.T) {
	keys := []paper.Key{{Public: statement.PublicOf(private(t))}}
	for _, name := range []string{"", "PI-1", "PI-1101/48211-A", "a.b~c_d e%f#g", "манометр-давления-12", "圧力計 7", strings.Repeat("W", 200), "é"} {
		text, err := paper.Code{Number: "2026-00001", Date: "2026-01-02", Found: "undecided", Item: name, Print: paper.PrintOf(nil)}.Sign(private(t))
		if err != nil || len(text) > 150 {
			t.Fatalf("%q: %q %v", name, text, err)
		}
		c, _, err := paper.ReadCode("https://gauges.example/verify#"+text, keys)
		if err != nil || !strings.HasPrefix(name, c.Item) || c.Cut == (c.Item == name) || c.Found != "undecided" ||
			c.Left != "" {
			t.Errorf("%q: %+v %v", name, c, err)
		}
	}
	for _, bad := range []paper.Code{{Number: "A.B", Date: "2026-01-02"}, {Number: "A", Date: "2026-13-02"}, {Number: strings.Repeat("9", 40), Date: "2026-01-02"}, {Date: "2026-01-02"}} {
		bad.Print = paper.PrintOf(nil)
		if text, err := bad.Sign(private(t)); !errors.Is(err, paper.ErrCode) {
			t.Errorf("%+v: %q", bad, text)
		}
	}
}

// TestVerdictsInACode: each verdict of the calculations comes back from a code.
func TestVerdictsInACode(t *testing.T) {
	keys := []paper.Key{{Public: statement.PublicOf(private(t))}}
	for _, verdict := range []string{"", "pass", "fail", "conditional-pass", "conditional-fail", "undecided"} {
		text, err := paper.Code{Number: "2026-00001", Date: "2026-01-02", Found: verdict, Left: verdict, Print: paper.PrintOf(nil)}.Sign(private(t))
		if err != nil {
			t.Fatal(err)
		}
		if c, _, err := paper.ReadCode("https://gauges.example/verify#"+text, keys); err != nil || c.Found != verdict || c.Left != verdict {
			t.Errorf("%q: %+v %v", verdict, c, err)
		}
	}
}
