package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"gaugewright/server/labels"
	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

func label(args []string, _ io.Reader, out, warn io.Writer) error {
	f := flag.NewFlagSet("label --data DIR --host https://HOST [options] TAG…", flag.ContinueOnError)
	f.SetOutput(warn)
	at := placeOf(f)
	host := f.String("host", "", "the address at which phones reach the server; it stands in every link")
	format := f.String("format", "pdf", "pdf (A4 sheets), or svg or png of one label")
	file := f.String("out", "", "the file to write; not given: standard output")
	area := f.String("area", "", "every instrument of this area, in the order of tags, instead of named ones")
	columns := f.Int("columns", labels.Default.Columns, "labels across a page")
	rows := f.Int("rows", labels.Default.Rows, "labels down a page")
	module := f.Float64("module", labels.ModuleMM, "side of a module in mm")
	if err := f.Parse(args); err != nil {
		return errRefused
	}
	if err := at.named(); err != nil {
		return err
	}
	if (f.NArg() == 0) == (*area == "") {
		return errors.New("name instruments by tag, label or serial, or give --area")
	}
	s, err := at.open()
	if err != nil {
		return err
	}
	list, err := labelsFor(s, *host, *area, f.Args())
	if err = errors.Join(err, s.Close()); err != nil {
		return err
	}
	var b []byte
	switch {
	case *format == "pdf":
		sheet := labels.Default
		sheet.Columns, sheet.Rows, sheet.ModuleMM = *columns, *rows, *module
		b, err = labels.PDF(list, sheet)
	case len(list) != 1:
		err = fmt.Errorf("%s is for one label, not %d", *format, len(list))
	case *format == "svg":
		b, err = labels.SVG(list[0])
	case *format == "png":
		b, err = labels.PNG(list[0].Link, 8)
	default:
		err = fmt.Errorf("--format %q: pdf, svg or png", *format)
	}
	if err != nil {
		return err
	}
	if *file == "" {
		_, err = out.Write(b)
		return err
	}
	return os.WriteFile(*file, b, 0o600)
}

func labelsFor(s *store.Store, host, area string, names []string) ([]labels.Label, error) {
	var found []plant.Instrument
	if area != "" {
		all, err := plant.All(s, "instrument", plant.ReadInstrument)
		if err != nil {
			return nil, err
		}
		found = slices.DeleteFunc(all, func(i plant.Instrument) bool { return i.Area != area })
		slices.SortFunc(found, func(a, b plant.Instrument) int { return strings.Compare(a.Tag, b.Tag) })
		if len(found) == 0 {
			return nil, fmt.Errorf("no instrument is in the area %q", area)
		}
	}
	for _, name := range names {
		i, err := plant.Find(s, name)
		if err != nil {
			return nil, err
		}
		found = append(found, i)
	}
	list := make([]labels.Label, 0, len(found))
	for _, i := range found {
		link, err := labels.Link(host, i.Label)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", i.Tag, err)
		}
		list = append(
			list,
			labels.Label{
				Link: link, Tag: i.Tag, Text: fmt.Sprintf("%s … %s %s", i.Range.Low, i.Range.High, i.Range.Unit),
			},
		)
	}
	return list, nil
}
