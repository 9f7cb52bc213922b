package main

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
)

// indexPage is the one page of the client; everything in it comes from the page's own origin.
func indexPage(script, styles string) []byte {
	return []byte(fmt.Sprintf(`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover">
<meta name="description" content="Checks of pressure instruments, with or without a connection.">
<meta name="theme-color" media="(prefers-color-scheme: light)" content="#fdfcf8">
<meta name="theme-color" media="(prefers-color-scheme: dark)" content="#0a0b0e">
<title>Gaugewright</title>
<link rel="manifest" href="/manifest.webmanifest">
<link rel="icon" href="/icon.svg" type="image/svg+xml">
<link rel="apple-touch-icon" href="/icon-180.png">
<link rel="stylesheet" href="%s">
<script type="module" src="%s"></script>
</head>
<body>
<div id="app"></div>
<noscript>This program needs JavaScript.</noscript>
</body>
</html>
`, styles, script))
}

// standingPage is the page where anybody checks a certificate.
func standingPage(script, styles string) []byte {
	return []byte(fmt.Sprintf(`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex">
<title>Check a certificate</title>
<link rel="icon" href="/icon.svg" type="image/svg+xml">
<link rel="stylesheet" href="%s">
<script defer src="%s"></script>
</head>
<body>
<noscript>This page needs JavaScript. The program checks certificates too: gaugewright verify.</noscript>
</body>
</html>
`, styles, script))
}

func manifest() []byte {
	return []byte(`{"name":"Gaugewright","short_name":"Gaugewright","id":"/","start_url":"/","scope":"/","display":"standalone",` +
		`"background_color":"#fdfcf8","theme_color":"#fdfcf8","lang":"en",` +
		`"description":"Checks of pressure instruments, with or without a connection.",` +
		`"icons":[{"src":"/icon.svg","sizes":"any","type":"image/svg+xml"},` +
		`{"src":"/icon-192.png","sizes":"192x192","type":"image/png"},` +
		`{"src":"/icon-512.png","sizes":"512x512","type":"image/png"},` +
		`{"src":"/icon-512.png","sizes":"512x512","type":"image/png","purpose":"maskable"}]}` + "\n")
}

// The mark: readings between two limit lines, on a grid of 64 units; its inner 48 survive any mask.
type bar struct{ x, y, w, h int }

var (
	limits   = []bar{{12, 18, 40, 3}, {12, 43, 40, 3}}
	readings = []bar{{15, 33, 6, 6}, {25, 29, 6, 6}, {35, 31, 6, 6}, {45, 25, 6, 6}}
)

const (
	paper  = "#fdfcf8"
	ink    = "#14161b"
	accent = "#0b4468"
)

func iconSVG() []byte {
	var b bytes.Buffer
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64"><rect width="64" height="64" fill="` + paper + `"/>`)
	draw := func(bars []bar, fill string) {
		for _, r := range bars {
			fmt.Fprintf(&b, `<rect x="%d" y="%d" width="%d" height="%d" fill="%s"/>`, r.x, r.y, r.w, r.h, fill)
		}
	}
	draw(limits, ink)
	draw(readings, accent)
	b.WriteString("</svg>\n")
	return b.Bytes()
}

func iconPNG(side int) ([]byte, error) {
	palette := color.Palette{
		color.RGBA{0xfd, 0xfc, 0xf8, 0xff}, color.RGBA{0x14, 0x16, 0x1b, 0xff},
		color.RGBA{0x0b, 0x44, 0x68, 0xff},
	}
	img := image.NewPaletted(image.Rect(0, 0, side, side), palette)
	draw := func(bars []bar, index uint8) {
		for _, r := range bars {
			for y := r.y * side / 64; y < (r.y+r.h)*side/64; y++ {
				for x := r.x * side / 64; x < (r.x+r.w)*side/64; x++ {
					img.SetColorIndex(x, y, index)
				}
			}
		}
	}
	draw(limits, 1)
	draw(readings, 2)
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, img); err != nil {
		return nil, fmt.Errorf("icon of %d: %w", side, err)
	}
	return b.Bytes(), nil
}

func addIcons(out files) error {
	out["icon.svg"] = iconSVG()
	for _, side := range []int{180, 192, 512} {
		body, err := iconPNG(side)
		if err != nil {
			return err
		}
		out[fmt.Sprintf("icon-%d.png", side)] = body
	}
	return nil
}
