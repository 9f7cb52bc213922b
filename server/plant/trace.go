package plant

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/calc/visit"

	"golang.org/x/text/encoding/unicode"
)

// traceOf marks a capture that represents a logger's record.
const traceOf = visit.TraceOf

// Blobs keeps photos and the records of loggers by their SHA-256.
type Blobs interface {
	Blob(sha256 string) ([]byte, error)
}

// File is what a capture says of a logger's record.
type File struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	Rows   int64  `json:"rows"`
	Packed string `json:"packed,omitempty"` // "" or "gzip"
}

// TraceError is returned where a run cannot be judged because the record of a logger has not
// arrived.
type TraceError struct{ SHA256 string }

func (e *TraceError) Error() string {
	return "the record of a logger with the SHA-256 " + e.SHA256 + " has not arrived"
}

// Records returns the SHA-256 of each record of a logger that replaces values of the run.
func (r *Run) Records() []string {
	var list []string
	for _, c := range r.Effective() {
		if c.Of == traceOf {
			list = append(list, string(c.Value))
		}
	}
	return list
}

// mostUnpacked bounds what a packed record may become.
const mostUnpacked = 512 << 20

// writeTraces writes the samples of each record as the evaluation takes them, read with the reading
// that its capture keeps: as on the phone.
func (v *Visit) writeTraces(w *document.Writer, run *Run) error {
	begun := false
	for _, c := range run.Effective() {
		if c.Of != traceOf {
			continue
		}
		if !begun {
			w.BeginList("traces")
			begun = true
		}
		samples, err := v.samples(&c)
		if err != nil {
			return err
		}
		w.Begin()
		w.Text("step", c.Step)
		w.Text("unit", c.Unit)
		for _, name := range []string{"t_s", "p", "temperature_c", "barometer_pa", "contact"} {
			if b, ok := samples[name]; ok {
				w.Raw(name, b)
			}
		}
		w.End()
	}
	if begun {
		w.EndList()
	}
	return nil
}

func (v *Visit) samples(c *Capture) (map[string]json.RawMessage, error) {
	if v.blobs == nil {
		return nil, &TraceError{string(c.Value)}
	}
	kept, err := v.blobs.Blob(string(c.Value))
	if errors.Is(err, os.ErrNotExist) {
		return nil, &TraceError{string(c.Value)}
	}
	if err != nil {
		return nil, err
	}
	if c.File != nil && c.File.Packed == "gzip" {
		if kept, err = unpack(kept); err != nil {
			return nil, fmt.Errorf("the record of capture %s: %w", c.ID, err)
		}
	}
	if kept, err = plain(kept); err != nil {
		return nil, fmt.Errorf("the record of capture %s: %w", c.ID, err)
	}
	doc, err := json.Marshal(map[string]any{"do": "read", "last": true, "reading": c.Reading})
	if err != nil {
		return nil, fmt.Errorf("the reading of capture %s: %w", c.ID, err)
	}
	var reply struct {
		Samples map[string]json.RawMessage
		Error   *struct{ Code, Field, Message string }
	}
	if err := json.Unmarshal(calc.CallBytes(traceOf, doc, kept), &reply); err != nil {
		return nil, err
	}
	if e := reply.Error; e != nil {
		return nil, fmt.Errorf("the record of capture %s: %s: %s: %w", c.ID, e.Field, e.Message, ErrValue)
	}
	return reply.Samples, nil
}

// plain gives a record as it is read, in UTF-8: one that says at its beginning that it is in UTF-16
// is decoded, as on the phone.
func plain(b []byte) ([]byte, error) {
	if !bytes.HasPrefix(b, []byte("\xff\xfe")) && !bytes.HasPrefix(b, []byte("\xfe\xff")) {
		return b, nil
	}
	return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Bytes(b)
}

func unpack(b []byte) ([]byte, error) {
	r, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	out, err := io.ReadAll(io.LimitReader(r, mostUnpacked+1))
	if err == nil && len(out) > mostUnpacked {
		err = errors.New("is too large unpacked")
	}
	return out, errors.Join(err, r.Close())
}
