package office

import (
	"bytes"
	"errors"
	"fmt"
	"path"

	"gaugewright/server/dcc"
	"gaugewright/server/register"
)

// ErrIncoming is wrapped, with the reason, if nothing can be read from the file of a certificate.
var ErrIncoming = errors.New("nothing is taken from this file")

// Incoming is what was read from the file of a standard's certificate, with the name under which
// the file is kept.
type Incoming struct {
	dcc.Incoming
	File string `json:"file"`
}

// ReadCertificate reads a standard's certificate from another laboratory, either a digital
// calibration certificate (XML) or a table of points (CSV), and converts it to a unit. The file is
// kept as it came. Nothing is entered until a person confirms what was read.
//
// Refuses: ErrIncoming.
func (o *Office) ReadCertificate(name, unit string, b []byte) (in Incoming, err error) {
	if bytes.HasPrefix(bytes.TrimLeft(b, "\xef\xbb\xbf \t\r\n"), []byte("<")) {
		in.Incoming, err = dcc.Read(b, unit)
	} else {
		var points []register.Point
		if points, err = register.Points(b, unit); err == nil {
			s := dcc.Series{Name: path.Base(name), Unit: unit}
			for _, p := range points {
				s.Points = append(s.Points, dcc.IncomingPoint(p))
			}
			in.Tables = []dcc.Series{s}
		}
	}
	if err != nil {
		return in, fmt.Errorf("%w: %w", ErrIncoming, err)
	}
	in.File, err = o.kept(b)
	return in, err
}
