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

// traceOf marks a capture that was read from a logger's record.
const traceOf = visit.TraceOf

// Blobs keeps photos and loggers' records by their SHA-256.
type Blobs interface {
	Blob(sha256 string) ([]byte, error)
}

// File is a capture's description of a logger's record.
type File struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	Rows   int64  `json:"rows"`
	Packed string `json:"packed,omitempty"` // "" or "gzip"
}

// TraceError is returned if a run cannot be judged because a logger's record has not arrived.
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

// mostUnpacked bounds the unpacked size of a record.
const mostUnpacked = 512 << 20

// writeTraces writes the samples of each record in the form that evaluate takes, read as its
// capture says, as on the phone.
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

// plain returns a record in UTF-8: like the phone, it decodes one that starts with a mark for
// UTF-16.
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
