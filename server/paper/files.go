package paper

import (
	"bytes"
	"compress/zlib"
	"encoding/base64"
	"io"
	"regexp"
	"strconv"
)

// mostAttached caps the unpacked size of a file in a PDF.
const mostAttached = 32 << 20

// attachment matches the start of a file in a PDF, as the library that writes ours writes it.
var attachment = regexp.MustCompile(`/Type /EmbeddedFile /Length (\d+) /Filter /FlateDecode ` +
	`/Params << /CheckSum <[0-9a-f]{32}> /Size \d+ >> >>\n+stream\n`)

// attached returns the files in one of our PDFs, in order.
func attached(pdf []byte) (list [][]byte, err error) {
	for _, at := range attachment.FindAllSubmatchIndex(pdf, -1) {
		n, err := strconv.Atoi(string(pdf[at[2]:at[3]]))
		if err != nil || n > len(pdf)-at[1] {
			return nil, not("a file in the PDF is cut off")
		}
		r, err := zlib.NewReader(bytes.NewReader(pdf[at[1] : at[1]+n]))
		if err != nil {
			return nil, not("a file in the PDF is damaged")
		}
		b, err := io.ReadAll(io.LimitReader(r, mostAttached))
		if err != nil {
			return nil, not("a file in the PDF is damaged")
		}
		list = append(list, b)
	}
	return list, nil
}

// enclosed matches how a machine-readable form contains the PDF (package dcc, Enclose).
var enclosed = regexp.MustCompile(`  <dcc:document>\n    <dcc:fileName>certificate-([^<\n]+)\.pdf</dcc:fileName>\n` +
	`    <dcc:mimeType>application/pdf</dcc:mimeType>\n    <dcc:dataBase64>([A-Za-z0-9+/=]+)</dcc:dataBase64>\n  </dcc:document>\n`)

// opened takes the PDF out of a machine-readable form. It returns the PDF, the form without it, and
// the number in the PDF's name.
func opened(xml []byte) (pdf, bare []byte, number string, err error) {
	at := enclosed.FindAllSubmatchIndex(xml, -1)
	if len(at) != 1 {
		return nil, nil, "", not("the XML has no paper in it that could be checked")
	}
	pdf, err = base64.StdEncoding.Strict().DecodeString(string(xml[at[0][4]:at[0][5]]))
	if err != nil {
		return nil, nil, "", not("the paper in the XML is damaged")
	}
	return pdf, append(bytes.Clone(xml[:at[0][0]]), xml[at[0][1]:]...), string(xml[at[0][2]:at[0][3]]), nil
}
