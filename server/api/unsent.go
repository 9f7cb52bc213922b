package api

import (
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

const (
	// unsentFormat names the format of the file in which a device saves what it could not send.
	unsentFormat = "gaugewright-unsent-1"
	// maxUnsent bounds such a file: weeks of work with its photos. It is read piece by piece.
	maxUnsent = 1 << 30
	// maxUnsentTogether and maxUnsentBytes bound what is taken in at once.
	maxUnsentTogether = 500
	maxUnsentBytes    = 4 << 20
)

// taken is the result for a file of unsent work. The same file again finds everything known.
type taken struct {
	Device  string    `json:"device"`
	Taken   int       `json:"taken"`
	Known   int       `json:"known"`
	Refused []refused `json:"quarantined"`
	Photos  int       `json:"photos"`
	Had     int       `json:"photos_known"`
	Bad     []refused `json:"photos_refused"`
}

type refused struct {
	ID     string `json:"id"`
	Reason string `json:"reason"`
}

// unsentFile is a file being read.
type unsentFile struct {
	*server
	c       echo.Context
	side    link.Side
	out     taken
	waiting []json.RawMessage
	bytes   int
	fresh   int
}

// unsent takes in a file of unsent work. Each change is judged by its author's account, as one that
// a hub pushes, except that decisions of the office are refused. What may not be written is
// quarantined. A file that ends early is taken up to there.
func (s *server) unsent(c echo.Context) error {
	judge, err := s.Keeper.JudgeFile()
	if err != nil {
		return err
	}
	f := &unsentFile{server: s, c: c, out: taken{Refused: []refused{}, Bad: []refused{}}}
	f.side = s.side(c, judge, nil)
	if u, ok := c.Get("user").(auth.User); ok {
		f.side.Sender = u.ID
	}
	before := f.side.OnAccepted
	f.side.OnAccepted = func(list []change.Change) { f.fresh += len(list); before(list) }
	err = f.read(json.NewDecoder(c.Request().Body))
	if flushed := f.flush(); flushed != nil {
		return flushed
	}
	if err != nil {
		return err
	}
	if err := s.note(c, "unsent_taken", "", fmt.Sprintf("%d changes, %d photos of device %s", f.out.Taken, f.out.Photos, f.out.Device)); err != nil {
		return err
	}
	return c.JSON(http.StatusOK, f.out)
}

func (f *unsentFile) broken(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return err
	}
	if flushed := f.flush(); flushed != nil {
		return flushed
	}
	return document.Refuse(
		document.CodeSyntax, "",
		fmt.Sprintf(
			"the file cannot be read to its end; %d changes and %d photos of it were taken before",
			f.out.Taken+f.out.Known, f.out.Photos+f.out.Had,
		),
	)
}

// read reads the file once, without holding it whole.
func (f *unsentFile) read(d *json.Decoder) error {
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return f.broken(err)
	}
	known := false
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return f.broken(err)
		}
		if name != "format" && !known {
			return document.Refuse(document.CodeShape, "format", "this is no file of unsent work")
		}
		switch name {
		case "format":
			var format string
			if err := d.Decode(&format); err != nil || format != unsentFormat {
				return document.Refuse(
					document.CodeShape, "format", "this is no file of unsent work that this program knows",
				)
			}
			known = true
		case "device":
			var device struct{ ID string }
			if err := d.Decode(&device); err != nil {
				return f.broken(err)
			}
			f.out.Device = device.ID
		case "changes":
			err = f.each(d, f.change)
		case "photos":
			err = f.each(d, f.photo)
		default: // from a newer program
			var other json.RawMessage
			if err := d.Decode(&other); err != nil {
				return f.broken(err)
			}
		}
		if err != nil {
			return err
		}
	}
	if _, err := d.Token(); err != nil {
		return f.broken(err)
	}
	return nil
}

func (f *unsentFile) each(d *json.Decoder, take func(json.RawMessage) error) error {
	if t, err := d.Token(); err != nil || t != json.Delim('[') {
		return f.broken(err)
	}
	for d.More() {
		var one json.RawMessage
		if err := d.Decode(&one); err != nil {
			return f.broken(err)
		}
		if err := take(one); err != nil {
			return err
		}
	}
	if _, err := d.Token(); err != nil {
		return f.broken(err)
	}
	return nil
}

func (f *unsentFile) change(raw json.RawMessage) error {
	if _, err := document.Parse(raw); err != nil { // one beyond our limits must not hold up the others
		f.out.Refused = append(f.out.Refused, refused{"", err.Error()})
		return f.Store.Quarantine(store.Held{Reason: err.Error(), Bytes: raw})
	}
	f.waiting, f.bytes = append(f.waiting, raw), f.bytes+len(raw)
	if len(f.waiting) < maxUnsentTogether && f.bytes < maxUnsentBytes {
		return nil
	}
	return f.flush()
}

// flush takes in the changes read so far, in the same way as a device's.
func (f *unsentFile) flush() error {
	if len(f.waiting) == 0 {
		return nil
	}
	device := f.out.Device
	if !change.IsID(device) {
		id, err := change.NewID(rand.Reader)
		if err != nil {
			return err
		}
		device = id
	}
	last, err := f.Store.Last()
	if err != nil {
		return err
	}
	b, err := json.Marshal(map[string]any{"nonce": "file", "device": device, "changes": f.waiting,
		"store": f.Store.StoreID(), "epoch": f.Store.Epoch(), "cursor": last}) // at the journal's end, so that nothing comes back
	if err != nil {
		return err
	}
	f.waiting, f.bytes = nil, 0
	q, err := link.ReadRequest(b)
	if err != nil {
		return err
	}
	f.fresh = 0
	p, err := f.side.Serve(f.c.Request().Context(), q, f.Now().UTC().Format(time.RFC3339Nano))
	if err != nil {
		return err
	}
	f.out.Taken += f.fresh
	f.out.Known += len(p.Acknowledged) - f.fresh
	for _, held := range p.Quarantined {
		f.out.Refused = append(f.out.Refused, refused{held.ID, held.Reason})
	}
	return nil
}

func (f *unsentFile) photo(raw json.RawMessage) error {
	var in struct {
		SHA256 string `json:"sha256"`
		Base64 string `json:"base64"`
	}
	bad := func(err error) error {
		f.out.Bad = append(f.out.Bad, refused{in.SHA256, err.Error()})
		return nil
	}
	if err := json.Unmarshal(raw, &in); err != nil {
		return bad(err)
	}
	b, err := base64.StdEncoding.DecodeString(in.Base64)
	if err != nil {
		return bad(err)
	}
	had, err := f.Store.HasBlob(in.SHA256)
	if err == nil && !had {
		err = f.Store.PutBlob(in.SHA256, b)
	}
	switch {
	case errors.Is(err, store.ErrBlobName), errors.Is(err, store.ErrBlobHash), errors.Is(err, store.ErrBlobSize):
		return bad(err)
	case err != nil:
		return err
	case had:
		f.out.Had++
	default:
		f.out.Photos++
	}
	return nil
}
