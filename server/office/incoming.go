package office

import (
	"bytes"
	"errors"
	"fmt"
	"path"

	"gaugewright/server/dcc"
	"gaugewright/server/register"
)

// ErrIncoming is wrapped where nothing can be taken from the file of a certificate, with why.
var ErrIncoming = errors.New("nothing is taken from this file")

// Incoming is what a file says of a standard's certificate, with the name under which the file is
// kept.
type Incoming struct {
	dcc.Incoming
	File string `json:"file"`
}

// ReadCertificate reads the certificate of a standard that another laboratory wrote: a digital
// calibration certificate (XML) or a table of points (CSV), turned into a unit. The file is kept as
// it came; nothing is entered until somebody confirms what was read.
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
