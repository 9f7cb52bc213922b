package labels_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/color"
	_ "image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/server/labels"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

func link(t *testing.T, label string) string {
	t.Helper()
	s, err := labels.Link("https://gauges.works.example/", label)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// read decodes the one code in a picture.
func read(t *testing.T, img image.Image) string {
	t.Helper()
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	got, err := qrcode.NewQRCodeReader().Decode(
		bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true},
	)
	if err != nil {
		t.Fatal(err)
	}
	return got.GetText()
}

func TestLink(t *testing.T) {
	if got := link(t, "K7F3Q9XW"); got != "https://gauges.works.example/t/k7f3q9xw" {
		t.Error(got)
	}
	for _, c := range [][2]string{{"gauges.example", "k7f3"}, {"ftp://g.example", "k7f3"}, {"https://g.example/?a=1", "k7f3"}, {"https://g.example/sub", "k7f3"},
		{"https://u@g.example", "k7f3"}, {"https://g.example", "k7"}, {"https://g.example", "k7 f3"}, {"https://g.example", "../a/b"}, {
			"https://" + strings.Repeat("g", 60) + ".example", "k7f3q9xw",
		}} {
		if got, err := labels.Link(c[0], c[1]); !errors.Is(err, labels.ErrLink) {
			t.Error(c, got, err)
		}
	}
}

func TestCodeIsReadBack(t *testing.T) {
	for _, label := range []string{"k7f3", "k7f3q9xw", strings.Repeat("z", 40)} {
		b, err := labels.PNG(link(t, label), 4)
		if err != nil {
			t.Fatal(err)
		}
		img, _, err := image.Decode(bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		if got := read(t, img); got != link(t, label) {
			t.Error(got)
		}
	}
	if _, err := labels.PNG("https://g.example/t/k7f3", 0); !errors.Is(err, labels.ErrSize) {
		t.Error(err)
	}
}

// TestDamagedCodeIsReadBack checks that a label at level Q can be read with a corner of its data
// scratched away.
func TestDamagedCodeIsReadBack(t *testing.T) {
	const px = 6
	b, err := labels.PNG(link(t, "k7f3q9xw"), px)
	if err != nil {
		t.Fatal(err)
	}
	src, _, err := image.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	img := image.NewRGBA(src.Bounds())
	for y := range src.Bounds().Dy() {
		for x := range src.Bounds().Dx() {
			img.Set(x, y, src.At(x, y))
		}
	}
	c, err := labels.Encode(link(t, "k7f3q9xw"))
	if err != nil {
		t.Fatal(err)
	}
	middle := (4 + c.Size/2) * px
	for y := middle; y < middle+5*px; y++ {
		for x := middle; x < middle+9*px; x++ {
			img.Set(x, y, color.White)
		}
	}
	if got := read(t, img); got != link(t, "k7f3q9xw") {
		t.Error(got)
	}
}

func TestModulesAreNeverTooSmall(t *testing.T) {
	c, err := labels.Encode(link(t, strings.Repeat("z", 40)))
	if err != nil {
		t.Fatal(err)
	}
	if c.Size > 41 { // the table of version against bytes at level Q: 72 bytes need at most 45, ours fit 41
		t.Error("modules:", c.Size)
	}
	sheet := labels.Default
	sheet.ModuleMM = 0.34
	if _, err := labels.PDF([]labels.Label{{Link: link(t, "k7f3")}}, sheet); !errors.Is(err, labels.ErrSize) {
		t.Error(err)
	}
	sheet = labels.Sheet{Columns: 6, Rows: 20, MarginMM: 8}
	if _, err := labels.PDF([]labels.Label{{Link: link(t, "k7f3"), Tag: "PI-1"}}, sheet); !errors.Is(err, labels.ErrSize) {
		t.Error("too narrow:", err)
	}
	if _, err := labels.PDF(nil, labels.Default); !errors.Is(err, labels.ErrSize) {
		t.Error("none:", err)
	}
}

func TestSVGIsWellFormed(t *testing.T) {
	b, err := labels.SVG(labels.Label{Link: link(t, "k7f3q9xw"), Tag: `PI-<1> & "2"`, Text: "0 … 10 bar"})
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Title string   `xml:"title"`
		Text  []string `xml:"text"`
		Width string   `xml:"width,attr"`
	}
	if err := xml.Unmarshal(b, &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Title != `PI-<1> & "2"` || len(doc.Text) != 2 || !strings.HasSuffix(doc.Width, "mm") {
		t.Errorf("%+v", doc)
	}
}

func many(t *testing.T, n int) []labels.Label {
	list := make([]labels.Label, n)
	for i := range list {
		list[i] = labels.Label{
			Link: link(t, fmt.Sprintf("label%03d", i)), Tag: fmt.Sprintf("PI-%04d", 1000+i),
			Text: "0 … 10 bar\narea 3, filter outlet",
		}
	}
	return list
}

func TestSheetIsReadBack(t *testing.T) {
	list := many(t, 26)
	b, err := labels.PDF(list, labels.Default)
	if err != nil {
		t.Fatal(err)
	}
	again, err := labels.PDF(list, labels.Default)
	if err != nil || !bytes.Equal(b, again) {
		t.Error("not the same bytes twice", err)
	}
	if _, err := exec.LookPath("pdftoppm"); err != nil {
		t.Fatalf("install pdftoppm (Debian package poppler-utils): %v", err)
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "labels.pdf")
	if err := os.WriteFile(file, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("pdftoppm", "-r", "203", "-png", file, filepath.Join(dir, "page")).CombinedOutput(); err != nil {
		t.Fatal(err, string(out))
	}
	pages, err := filepath.Glob(filepath.Join(dir, "page*.png"))
	if err != nil || len(pages) != 2 {
		t.Fatal(pages, err)
	}
	t.Run("one by one", func(t *testing.T) {
		f, err := os.Open(pages[0])
		if err != nil {
			t.Fatal(err)
		}
		img, _, err := image.Decode(f)
		if err := errors.Join(err, f.Close()); err != nil {
			t.Fatal(err)
		}
		const dots = 203 / 25.4
		w, h := (210-16)/3.0*dots, (297-16)/8.0*dots
		for _, i := range []int{0, 10, 23} {
			x, y := 8*dots+float64(i%3)*w, 8*dots+float64(i/3)*h
			part := img.(interface {
				SubImage(image.Rectangle) image.Image
			}).SubImage(image.Rect(int(x)+2, int(y)+2, int(x+24*dots), int(y+h)-2))
			if got := read(t, part); got != list[i].Link {
				t.Error(i, got)
			}
		}
	})
	t.Run("all", func(t *testing.T) {
		if _, err := exec.LookPath("zbarimg"); err != nil {
			t.Fatalf("install zbarimg (Debian package zbar-tools): %v", err)
		}
		out, err := exec.Command("zbarimg", append([]string{"-q", "--raw"}, pages...)...).Output()
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range list {
			if !strings.Contains(string(out), l.Link+"\n") {
				t.Error("not read:", l.Link)
			}
		}
	})
}

// text returns the text of a document of labels in one line.
func text(t *testing.T, pdf []byte) string {
	t.Helper()
	cmd := exec.Command("pdftotext", "-raw", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext (Debian package poppler-utils): %v", err)
	}
	return strings.Join(strings.Fields(string(out)), " ")
}

func TestDatedLabelIsReadBack(t *testing.T) {
	list := many(t, 3)
	list[1].More = []string{"due: 2027-03-04", "out of service"}
	b, err := labels.PDF(list, labels.Default)
	if err != nil {
		t.Fatal(err)
	}
	got := text(t, b)
	const want = "PI-1001 0 … 10 bar area 3, filter outlet due: 2027-03-04 out of service"
	if !strings.Contains(got, want) || strings.Count(got, "due:") != 1 {
		t.Errorf("%s", got)
	}
}

// TestDefectTagsAreReadBack reads the words and the codes of tags, with much text and with little.
func TestDefectTagsAreReadBack(t *testing.T) {
	long := strings.TrimSpace(strings.Repeat("bourdon tube cracked and the needle stands off zero, ", 12))
	list := []labels.Defect{
		{
			Link: link(t, "label001"), Tag: "PI-1001", Serial: "N-4711", Text: "filter outlet, boiler house",
			Reason: "Needle sticks at 6 bar", Code: "D-07", By: "Tova Reen", Date: "2026-03-04",
		},
		{Link: link(t, "label002"), Tag: "PI-1002"},
		{Link: link(t, "label003"), Tag: strings.Repeat("LONG-TAG-", 6), Serial: "S", Reason: long, By: "T"},
	}
	for i := range 7 {
		list = append(list, labels.Defect{Link: link(t, fmt.Sprintf("more%03d", i)), Tag: fmt.Sprint("PT-", i)})
	}
	b, err := labels.Defects(list)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := labels.Defects(list); err != nil || !bytes.Equal(b, again) {
		t.Error("not the same bytes twice", err)
	}
	got := text(t, b)
	for _, want := range []string{
		"OUT OF SERVICE", "PI-1001 Serial N-4711 filter outlet, boiler house",
		"Reason Needle sticks at 6 bar Code D-07 Taken out by Tova Reen Date 2026-03-04",
		"PI-1002 Reason Code Taken out by Date", "bourdon tube … Code",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("the tags do not say %q:\n%s", want, got)
		}
	}
	if n := strings.Count(got, "OUT OF SERVICE"); n != len(list) {
		t.Errorf("%d of %d tags say it", n, len(list))
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "tags.pdf")
	if err := os.WriteFile(file, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("pdftoppm", "-r", "203", "-png", file, filepath.Join(dir, "page")).CombinedOutput(); err != nil {
		t.Fatalf("pdftoppm (Debian package poppler-utils): %v %s", err, out)
	}
	pages, err := filepath.Glob(filepath.Join(dir, "page*.png"))
	if err != nil || len(pages) != 2 {
		t.Fatal(pages, err)
	}
	out, err := exec.Command("zbarimg", append([]string{"-q", "--raw"}, pages...)...).Output()
	if err != nil {
		t.Fatalf("zbarimg (Debian package zbar-tools): %v", err)
	}
	for _, d := range list {
		if !strings.Contains(string(out), d.Link+"\n") {
			t.Error("not read:", d.Link)
		}
	}
	if _, err := labels.Defects(nil); !errors.Is(err, labels.ErrSize) {
		t.Error("none:", err)
	}
	if keep := os.Getenv("SHOTS"); keep != "" {
		if err := os.WriteFile(filepath.Join(keep, "defect-tags.pdf"), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}
