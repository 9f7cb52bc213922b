package demo_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"gaugewright/server/demo"
)

// TestPictures compares the signed paper of every kind of work with its picture in
// testdata/goldens/papers, which a person has checked. It finds a chart, a line or a column that
// moves, and ignores how another version of the renderer smooths letters. To change a paper on
// purpose: go test ./server/demo -run TestPictures -args -update, and look at each.
func TestPictures(t *testing.T) {
	s, _ := seed(t, demo.Options{Seed: 1, Today: today, Instruments: 60, Years: 2, Base: "http://localhost:8080"})
	list, kinds := sheets(t, s)
	for _, kind := range kindsOf {
		i := slices.Index(kinds, kind)
		if i < 0 {
			t.Fatal("no paper of", kind)
		}
		in := list[i]
		one := sign(t, &in)
		got := pictureOf(t, one.pdf)
		file := filepath.Join("..", "..", "testdata", "goldens", "papers", kind+".png")
		if *update {
			var b bytes.Buffer
			if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, got); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		want, err := png.Decode(bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		if where := differs(want, got); where != "" {
			t.Errorf("%s does not look as in %s: %s", kind, file, where)
		}
		movedIsFound(t, kind, got)
		greyAlone(t, kind, one.pdf)
	}
}

// movedIsFound moves a band of the first page, 4 mm high, down by 2 mm, and blanks the space of one
// word: the comparison must find both.
func movedIsFound(t *testing.T, kind string, p *image.Gray) {
	t.Helper()
	copied := func() *image.Gray {
		c := image.NewGray(p.Bounds())
		copy(c.Pix, p.Pix)
		return c
	}
	const mm = pictureDPI / 25.4
	at := func(left, top, right, bottom float64) image.Rectangle {
		return image.Rect(int(left*mm), int(top*mm), int(right*mm), int(bottom*mm))
	}
	title := at(18, 44, 110, 60)
	moved, blanked := copied(), copied()
	draw.Draw(moved, title.Add(image.Pt(0, 4)), p, title.Min, draw.Src)
	draw.Draw(blanked, at(60, 62, 90, 66), image.White, image.Point{}, draw.Src)
	for what, c := range map[string]*image.Gray{"a title that moved": moved, "a customer that is gone": blanked} {
		if differs(p, c) == "" {
			t.Errorf("%s: %s is not found", kind, what)
		}
	}
}

// greyAlone draws the paper in colours and finds none: nothing is said by a colour, so that a printer
// with black alone loses nothing.
func greyAlone(t *testing.T, kind string, pdf []byte) {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "paper.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("pdftoppm", "-r", "30", file, filepath.Join(dir, "page")).CombinedOutput(); err != nil {
		t.Fatalf("pdftoppm (Debian's poppler-utils): %v %s", err, out)
	}
	files, err := filepath.Glob(filepath.Join(dir, "page*.ppm"))
	if err != nil || len(files) == 0 {
		t.Fatal("no page was drawn", err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var w, h, most int
		if _, err := fmt.Sscanf(string(b[:min(len(b), 40)]), "P6\n%d %d\n%d", &w, &h, &most); err != nil || most != 255 {
			t.Fatalf("%s is no picture in colours: %v", f, err)
		}
		pixels := b[len(b)-3*w*h:]
		for i := 0; i < len(pixels); i += 3 {
			if pixels[i] != pixels[i+1] || pixels[i] != pixels[i+2] {
				t.Errorf("%s: %s has a colour at %d, %d of %d × %d", kind, filepath.Base(f), i/3%w, i/3/w, w, h)
				break
			}
		}
	}
}

// pictureDPI is how fine papers are drawn to be compared.
const pictureDPI = 50

// pictureOf draws the pages of a PDF side by side in grey, with poppler.
func pictureOf(t *testing.T, pdf []byte) *image.Gray {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "paper.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("pdftoppm", "-gray", "-r", fmt.Sprint(pictureDPI), file, filepath.Join(dir, "page"))
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("pdftoppm (Debian's poppler-utils): %v %s", err, out)
	}
	files, err := filepath.Glob(filepath.Join(dir, "page*.pgm"))
	if err != nil || len(files) == 0 {
		t.Fatal("no page was drawn", err)
	}
	var pages []*image.Gray
	wide, tall := 0, 0
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var w, h, most int
		if _, err := fmt.Sscanf(string(b[:min(len(b), 40)]), "P5\n%d %d\n%d", &w, &h, &most); err != nil || most != 255 {
			t.Fatalf("%s is not a grey picture: %v", f, err)
		}
		pages = append(pages, &image.Gray{Pix: b[len(b)-w*h:], Stride: w, Rect: image.Rect(0, 0, w, h)})
		wide, tall = wide+w, max(tall, h)
	}
	all := image.NewGray(image.Rect(0, 0, wide, tall))
	x := 0
	for _, p := range pages {
		draw.Draw(all, p.Rect.Add(image.Pt(x, 0)), p, image.Point{}, draw.Src)
		x += p.Rect.Dx()
	}
	return all
}

// differs compares the average grey of two pictures in squares of 3 mm. It returns where they first
// differ by more than smoothing does, or "".
func differs(want, got image.Image) string {
	const side = 6    // pixels, 3 mm
	const most = 28.0 // of 255 levels
	if want.Bounds() != got.Bounds() {
		return fmt.Sprintf("the pages are %v, were %v", got.Bounds().Max, want.Bounds().Max)
	}
	grey := func(p image.Image, x, y int) (sum float64) {
		for dy := range side {
			for dx := range side {
				sum += float64(color.GrayModel.Convert(p.At(x+dx, y+dy)).(color.Gray).Y)
			}
		}
		return sum / float64(side*side)
	}
	end := want.Bounds().Max
	for y := 0; y+side <= end.Y; y += side {
		for x := 0; x+side <= end.X; x += side {
			if a, b := grey(want, x, y), grey(got, x, y); max(a-b, b-a) > most {
				const inMM = 25.4 / pictureDPI
				return fmt.Sprintf("at %.0f, %.0f mm it is %.0f of 255 grey, was %.0f", float64(x)*inMM, float64(y)*inMM, b, a)
			}
		}
	}
	return ""
}
