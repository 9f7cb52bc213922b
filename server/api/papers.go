package api

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"

	"gaugewright/server/auth"
	"gaugewright/server/labels"
	"gaugewright/server/office"
	"gaugewright/server/plant"

	"github.com/labstack/echo/v4"
)

func (s *server) letterhead(c echo.Context) error {
	l, err := s.office.Letterhead()
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, l)
}

func (s *server) setLetterhead(c echo.Context) error {
	var l office.Letterhead
	if err := decode(c, &l); err != nil {
		return err
	}
	l, err := s.office.SetLetterhead(l, s.noting(c, "letterhead", "", l.Name))
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, l)
}

// base returns the address for phones: the configured one, or the one by which the sender reached
// the server.
func (s *server) base(c echo.Context) string {
	if s.PublicURL != "" {
		return strings.TrimRight(s.PublicURL, "/")
	}
	scheme := "http"
	if s.Secure {
		scheme = "https"
	}
	return scheme + "://" + c.Request().Host
}

// certify issues the certificate of a visit that was approved without one.
func (s *server) certify(c echo.Context) error {
	var in struct {
		Accredited bool   `json:"accredited"`
		Language   string `json:"language"`
	}
	if c.Request().ContentLength != 0 { // earlier clients send no body
		if err := decode(c, &in); err != nil {
			return err
		}
	}
	user, sheet := c.Get("user").(auth.User), office.Sheet{
		Base: s.base(c), Accredited: in.Accredited, Language: in.Language,
	}
	out, err := s.office.Issue(c.Request().Context(), user.ID, c.Param("id"), sheet)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, map[string]any{"certificate": out})
}

// maxCertificate caps the file of another laboratory's certificate, which may contain its PDF.
const maxCertificate = 16 << 20

// readCertificate reads another laboratory's certificate of a standard, for a person to confirm.
func (s *server) readCertificate(c echo.Context) error {
	b, err := io.ReadAll(c.Request().Body)
	if err != nil {
		return err
	}
	in, err := s.office.ReadCertificate(c.QueryParam("name"), c.QueryParam("unit"), b)
	if err != nil {
		return err
	}
	return c.JSON(http.StatusOK, in)
}

// draft draws the certificate of a visit as it is now, each page marked as a draft.
func (s *server) draft(c echo.Context) error {
	b, err := s.office.Preview(c.Param("id"), c.QueryParam("language"))
	if err != nil {
		return err
	}
	return file(c, "application/pdf", "draft.pdf", b)
}

func (s *server) certificate(c echo.Context) error {
	id, kind, _ := strings.Cut(c.Param("file"), ".")
	if kind != "pdf" && kind != "xml" && kind != "json" && kind != "record" {
		return echo.ErrNotFound
	}
	state, err := s.office.Record(id)
	if err != nil {
		return err
	}
	if user := c.Get("user").(auth.User); user.Limited() && state.Site != "" &&
		!slices.Contains(user.Sites, state.Site) {
		s.noteRight(c, user)
		return echo.ErrNotFound // as if it did not exist: its site is not theirs
	}
	v, err := plant.ReadCertificate(state)
	if err != nil {
		return err
	}
	switch kind {
	case "xml":
		b, err := s.office.Machine(&v)
		if err != nil {
			return err
		}
		return file(c, "application/xml", "certificate-"+v.Number+".xml", b)
	case "record":
		b, err := s.office.SignedRecord(&v)
		if err != nil {
			return err
		}
		return file(c, echo.MIMEApplicationJSON, "certificate-"+v.Number+".record.json", b)
	case "json":
		out, err := s.office.Evidence(id)
		if err != nil {
			return err
		}
		b, err := json.Marshal(out)
		if err != nil {
			return err
		}
		return file(c, echo.MIMEApplicationJSON, "certificate-"+v.Number+".json", b)
	}
	b, err := s.office.Document(&v)
	if err != nil {
		return err
	}
	later, err := s.office.ReplacedBy(&v)
	if err != nil {
		return err
	}
	if later != "" { // its bytes stay as issued; the file name says that it was replaced
		later = "-replaced-by-" + later
	}
	return file(c, "application/pdf", "certificate-"+v.Number+later+".pdf", b)
}

// list returns, to anyone, the office's public keys and the replaced certificates.
func (s *server) list(c echo.Context) error {
	b, err := s.office.List()
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, b)
}

// file sends bytes as a download, never as a page of this server.
func file(c echo.Context, kind, name string, b []byte) error {
	c.Response().Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	return c.Blob(http.StatusOK, kind, b)
}

func (s *server) labelSheet(c echo.Context) error {
	var in struct {
		Instruments []string `json:"instruments"`
		Dated       bool     `json:"dated"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User).ID
	list, err := s.office.Labels(c.Request().Context(), user, s.base(c), in.Instruments, in.Dated)
	if err != nil {
		return err
	}
	b, err := labels.PDF(list, labels.Default)
	if err != nil {
		return err
	}
	return file(c, "application/pdf", "labels.pdf", b)
}

// defectTags draws the tags of instruments that are out of service.
func (s *server) defectTags(c echo.Context) error {
	var in struct {
		Instruments []string `json:"instruments"`
	}
	if err := decode(c, &in); err != nil {
		return err
	}
	user := c.Get("user").(auth.User).ID
	list, err := s.office.Defects(c.Request().Context(), user, s.base(c), in.Instruments)
	if err != nil {
		return err
	}
	b, err := labels.Defects(list)
	if err != nil {
		return err
	}
	return file(c, "application/pdf", "defect-tags.pdf", b)
}

func (s *server) label(c echo.Context) error {
	id, kind, _ := strings.Cut(c.Param("file"), ".")
	if kind != "svg" && kind != "png" {
		return echo.ErrNotFound
	}
	one, err := s.office.Label(s.base(c), id)
	if err != nil {
		return err
	}
	const dots = 8
	b, mime := []byte(nil), "image/png"
	if kind == "png" {
		b, err = labels.PNG(one.Link, dots)
	} else {
		mime = "image/svg+xml"
		b, err = labels.SVG(one)
	}
	if err != nil {
		return err
	}
	return file(c, mime, "label."+kind, b)
}
