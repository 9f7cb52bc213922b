package objects_test

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/sync/objects"
	"gaugewright/sync/objects/objectstest"
)

func TestParse(t *testing.T) {
	for in, want := range map[string]objects.Address{
		"s3://store.example/plant":                            {Host: "store.example", Bucket: "plant"},
		"s3://store.example:9000/plant/a/b/?tls=no":           {Host: "store.example:9000", Bucket: "plant", Prefix: "a/b", Plain: true},
		"s3://store.example/plant/photos?region=eu-1&tls=yes": {Host: "store.example", Bucket: "plant", Prefix: "photos", Region: "eu-1"},
	} {
		if got, err := objects.Parse(in); err != nil || got != want {
			t.Errorf("%s: %s, %v", in, cmp.Diff(want, got), err)
		}
	}
	for in, why := range map[string]string{
		"": "host", "plant": "host", "https://store.example/plant": "host", "s3:///plant": "host", "s3://h": "no bucket",
		"s3://key:secret@h/plant": "AWS_SECRET_ACCESS_KEY", "s3://h/plant/../x": "prefix", "s3://h/plant/a//b": "prefix",
		"s3://h/plant?tls=perhaps": "tls is none", "s3://h/plant?key=x": "key is none",
	} {
		if _, err := objects.Parse(in); !errors.Is(err, objects.ErrAddress) || !strings.Contains(err.Error(), why) {
			t.Errorf("%q: %v, want %q", in, err, why)
		}
	}
}

func TestBucket(t *testing.T) {
	server := objectstest.Start(t)
	b, err := objects.Open(context.Background(), server.Address)
	if err != nil {
		t.Fatal(err)
	}
	long := bytes.Repeat([]byte{1, 2, 3, 4, 5, 6, 7}, 32<<20/7) // as large as a blob may be
	for name, content := range map[string][]byte{"a": []byte("first"), "b": {0}, "c": long} {
		for range 2 {
			if err := b.Put(name, content); err != nil {
				t.Fatal(err)
			}
		}
		if got, err := b.Get(name); err != nil || !bytes.Equal(got, content) {
			t.Errorf("%s: %d bytes of %d, %v", name, len(got), len(content), err)
		}
		if n, err := b.Size(name); err != nil || n != int64(len(content)) {
			t.Errorf("%s has %d bytes, %v", name, n, err)
		}
	}
	var names []string
	if err := b.Each(func(name string, _ int64) error { names = append(names, name); return nil }); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(names, []string{"a", "b", "c"}) {
		t.Errorf("listed: %v", names)
	}
	stop := errors.New("enough")
	if err := b.Each(func(string, int64) error { return stop }); !errors.Is(err, stop) {
		t.Errorf("stopped: %v", err)
	}
	for range 2 { // one that is not there is no error
		if err := b.Remove("a"); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.Get("a"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("read what was removed: %v", err)
	}
	if _, err := b.Size("a"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("looked at what was removed: %v", err)
	}
	other, err := objects.Open(context.Background(), strings.Replace(server.Address, "/photos", "", 1))
	if err != nil {
		t.Fatal(err)
	}
	if err := other.Each(func(name string, _ int64) error { return errors.New(name) }); err != nil {
		t.Errorf("below another prefix: %v", err)
	}
}

func TestBucketSaysWhatFails(t *testing.T) {
	server := objectstest.Start(t)
	b, err := objects.Open(context.Background(), server.Address)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := objects.Open(context.Background(), strings.Replace(server.Address, "/plant", "/none", 1)); err == nil ||
		!strings.Contains(err.Error(), "no such bucket") {
		t.Errorf("no bucket: %v", err)
	}
	if err := b.Put("a", []byte("first")); err != nil {
		t.Fatal(err)
	}
	for method, do := range map[string]func() error{
		http.MethodPut:    func() error { return b.Put("b", []byte("second")) },
		http.MethodGet:    func() error { _, err := b.Get("a"); return err },
		http.MethodHead:   func() error { _, err := b.Size("a"); return err },
		http.MethodDelete: func() error { return b.Remove("a") },
	} {
		server.Refuse(method)
		if err := do(); err == nil || errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), b.Name()) {
			t.Errorf("%s refused: %v", method, err)
		}
	}
	server.Refuse("")
	if _, err := b.Size("b"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("what was not taken: %v", err)
	}
}
