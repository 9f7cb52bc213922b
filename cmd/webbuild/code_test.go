package main

import (
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/evanw/esbuild/pkg/api"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

const coder = `
import { gridOf } from "./src/views/code-grid";
import { packed } from "./src/screens/programme/code";
const draft = JSON.parse(process.argv.at(-1));
const grid = gridOf("https://plant.example:8443/programmes/take#", await packed(draft));
console.log(JSON.stringify(grid ? grid.map((row) => row.map((on) => (on ? "1" : "0")).join("")) : []));
`

// draw gives the picture of a code, as rows of 0 and 1, with its white margin.
func draw(rows []string) image.Image {
	const dots, quiet = 4, 4
	side := (len(rows) + 2*quiet) * dots
	img := image.NewGray(image.Rect(0, 0, side, side))
	for y := range side {
		for x := range side {
			r, c := y/dots-quiet, x/dots-quiet
			on := r >= 0 && r < len(rows) && c >= 0 && c < len(rows) && rows[r][c] == '1'
			img.SetGray(x, y, map[bool]color.Gray{true: {Y: 0}, false: {Y: 255}}[on])
		}
	}
	return img
}

// unspell reads 43 signs, three for two bytes, least first.
func unspell(t *testing.T, text string) []byte {
	t.Helper()
	const signs = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ$*+-./:"
	var out []byte
	for len(text) > 0 {
		group := text[:min(3, len(text))]
		text = text[len(group):]
		n := 0
		for i := len(group) - 1; i >= 0; i-- {
			n = n*43 + strings.IndexByte(signs, group[i])
		}
		if len(group) == 3 {
			out = append(out, byte(n>>8))
		}
		out = append(out, byte(n))
	}
	return out
}

// TestProgrammeAsCode: an independent reader reads the code that a phone shows of a programme, and
// gets the programme's file. A programme too large for any code gives none.
func TestProgrammeAsCode(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatalf("install node (Debian package nodejs): %v", err)
	}
	web := filepath.Join("..", "..", "webapp")
	if _, err := os.Stat(filepath.Join(web, "node_modules", "qrcode-generator")); err != nil {
		t.Fatal("run npm ci in webapp: ", err)
	}
	o, err := bundler{web: web}.options()
	if err != nil {
		t.Fatal(err)
	}
	o.Stdin = &api.StdinOptions{Contents: coder, ResolveDir: o.AbsWorkingDir, Loader: api.LoaderTS}
	o.Platform, o.Format = api.PlatformNode, api.FormatESModule
	r, err := run(o)
	if err != nil {
		t.Fatal(err)
	}
	script := filepath.Join(t.TempDir(), "coder.mjs")
	if err := os.WriteFile(script, r.OutputFiles[0].Contents, 0o600); err != nil {
		t.Fatal(err)
	}
	rows := func(text string) (grid []string) {
		t.Helper()
		draft, err := json.Marshal(map[string]any{"name": "Half a bar – „kurz“", "text": text, "rules": []any{}})
		if err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(node, script, string(draft)).Output()
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(out, &grid); err != nil {
			t.Fatal(err)
		}
		return grid
	}
	steps, err := filepath.Glob(filepath.Join("..", "..", "calc", "programme", "testdata", "programmes", "*.good.txt"))
	if err != nil || len(steps) == 0 {
		t.Fatal("no programmes", err)
	}
	var many strings.Builder
	for _, path := range steps {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		many.Write(b)
	}
	for name, text := range map[string]string{"the smallest": "unit bar gauge\nset 0.5\nhold 5 s\nvent\n", "a long one": many.String()[:3000]} {
		grid := rows(text)
		if len(grid) == 0 {
			t.Fatalf("%s gives no code", name)
		}
		t.Logf("%s: %d bytes, %d modules a side", name, len(text), len(grid))
		bitmap, err := gozxing.NewBinaryBitmapFromImage(draw(grid))
		if err != nil {
			t.Fatal(err)
		}
		got, err := qrcode.NewQRCodeReader().Decode(bitmap, nil)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		signs, ok := strings.CutPrefix(got.GetText(), "https://plant.example:8443/programmes/take#1")
		if !ok || !strings.HasSuffix(signs, "E") {
			t.Fatalf("%s: %q", name, got.GetText())
		}
		body, err := io.ReadAll(flate.NewReader(bytes.NewReader(unspell(t, strings.TrimSuffix(signs, "E")))))
		if err != nil {
			t.Fatal(err)
		}
		var file struct {
			Gaugewright, Name string
			Definition        struct{ Kind, Text string }
		}
		if err := json.Unmarshal(body, &file); err != nil {
			t.Fatalf("%s: %v in %s", name, err, body)
		}
		if file.Gaugewright != "programme" || file.Name != "Half a bar – „kurz“" ||
			file.Definition.Kind != "programme" || file.Definition.Text != text {
			t.Errorf("%s: %s", name, body)
		}
	}
	for i := range 200 { // text that does not repeat is not compressed
		sum := sha256.Sum256([]byte{byte(i)})
		fmt.Fprintf(&many, "note %q\n", hex.EncodeToString(sum[:]))
	}
	if grid := rows(many.String()); len(grid) > 0 {
		t.Errorf("%d bytes give a code of %d modules", many.Len(), len(grid))
	}
}
