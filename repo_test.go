package gaugewright_test

// This table is policy: change it in a commit of its own, with the reason.

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// room is one package: its path inside the module and the packages of this module that it may import.
// A trailing /... in may allows a whole tree.
type room struct{ path, may string }

const basis = "calc/document calc/units calc/numeric"

var rooms = []room{
	{"calc", "calc/..."},
	{"calc/document", ""},
	{"calc/schema", ""},
	{"calc/numeric", "calc/document"}, // its door: quantile
	{"calc/units", "calc/document calc/numeric"},
	{"calc/points", basis},
	{"calc/sheet", basis},
	{"calc/uncertainty", basis},
	{"calc/conformity", basis},
	{"calc/medium", basis},
	{"calc/standard", basis + " calc/uncertainty"},
	{"calc/head", basis + " calc/medium calc/uncertainty"},
	{"calc/balance", basis + " calc/medium calc/uncertainty"},
	{"calc/gauge", basis + " calc/uncertainty calc/conformity calc/standard calc/head calc/points"}, // a gauge's verdict needs its standard, its rule and the column between them
	{"calc/leak", basis + " calc/uncertainty"},
	{"calc/switches", basis + " calc/uncertainty"},
	{"calc/burst", basis + " calc/uncertainty"},
	{"calc/energy", basis + " calc/uncertainty"},
	{"calc/airdata", basis + " calc/uncertainty"},
	{"calc/trace", basis},
	{"calc/history", basis},
	{"calc/programme", "calc/..."},
	{"calc/internal/bitdigest", "calc calc/document"},
	{"sync/clock", ""},
	{"sync/change", "sync/clock calc/document calc/units calc/sheet"},
	{"sync/journal", "sync/clock sync/change"},
	{"sync/merge", "sync/clock sync/change sync/journal calc/document"},
	{"sync/tight", ""},
	{"sync/store", "sync/clock sync/change sync/journal sync/merge"},
	{"sync/link", "sync/clock sync/change sync/journal sync/merge sync/store calc/document"},
	{"sync/hub", "sync/... calc/document"},
	{"sync/world", "sync/... calc/document"},
	{"server/config", ""},
	{"server/auth", "sync/change sync/store"},
	{"server/secure", "server/config server/labels"},
	{"server/site", "webapp"},
	{"server/plant", "calc calc/document calc/units sync/..."},
	{"server/demo", "calc calc/document calc/units calc/numeric calc/airdata sync/... server/plant server/auth server/certificates"},
	{"server/register", "calc calc/document calc/numeric calc/units sync/... server/plant"},
	{"server/labels", "sync/change"},
	{"server/certificates", "calc calc/document calc/units sync/change sync/merge server/plant server/labels"},
	{"server/api", "server/... calc/... sync/..."},
	{"webapp", ""},
	{"cmd/gaugewright", "server/... sync/... calc/... webapp"},
	{"cmd/gaugewasm", "calc sync/merge"},
	{"cmd/webbuild", ""},
}

// barred packages, for the rooms below a prefix, each with its reason.
var barred = []struct{ under, imports, reason string }{
	{"calc", "net/http os log math/rand math/rand/v2 time syscall/js math/big", "calc knows pressure only: no I/O, clock or chance"},
	{"calc", "fmt encoding/json reflect", "the phone loads it: no reflection (hundreds of kB)"},
	{"sync/clock", "net/http os log time fmt encoding/json reflect", "pure; time arrives as a value"},
	{"sync/change", "net/http os log time fmt encoding/json reflect", "pure; the phone loads it"},
	{"sync/journal", "net/http os log", "pure"},
	{"sync/merge", "net/http os log time fmt encoding/json reflect", "pure; the phone loads it"},
	{"sync/link", "net/http os log", "the transport is given to it"},
	{"server/auth", "net/http/httputil", "no proxying here"},
}

// apart are packages under a barred prefix that the phone never loads.
var apart = map[string]bool{"calc/schema": true, "calc/internal/bitdigest": true}

type pkg struct {
	ImportPath, Doc string
	Imports         []string
}

func list(t *testing.T) []pkg {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Doc,Imports", "./...")
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var all []pkg
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p pkg
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	if len(all) == 0 {
		t.Fatal("no packages listed")
	}
	return all
}

func allows(may, path string) bool {
	for _, m := range strings.Fields(may) {
		if m == path {
			return true
		}
		if tree, ok := strings.CutSuffix(m, "/..."); ok && (path == tree || strings.HasPrefix(path, tree+"/")) {
			return true
		}
	}
	return false
}

func TestArrows(t *testing.T) {
	table := map[string]room{}
	for _, r := range rooms {
		table[r.path] = r
	}
	for _, p := range list(t) {
		path, inside := strings.CutPrefix(p.ImportPath, "gaugewright/")
		if !inside {
			continue // the root holds tests only
		}
		r, ok := table[path]
		if !ok {
			t.Errorf("%s: a package without a row in the table of rooms", path)
			continue
		}
		if p.Doc == "" {
			t.Errorf("%s: no package comment", path)
		}
		for _, imp := range p.Imports {
			if in, ok := strings.CutPrefix(imp, "gaugewright/"); ok && !allows(r.may, in) {
				t.Errorf("%s imports %s: no arrow from the one to the other", path, in)
			}
			for _, b := range barred {
				if (path == b.under || strings.HasPrefix(path, b.under+"/")) && !apart[path] && allows(b.imports, imp) {
					t.Errorf("%s imports %s: %s", path, imp, b.reason)
				}
			}
		}
	}
}

func TestNoLongFiles(t *testing.T) {
	const most = 800
	seen := 0
	for _, top := range []string{"calc", "sync", "server", "cmd", "webapp/src", "webapp/e2e", "webapp/test"} {
		err := filepath.WalkDir(top, func(path string, d os.DirEntry, err error) error {
			if errors.Is(err, os.ErrNotExist) {
				return nil
			}
			if err != nil || d.IsDir() {
				return err
			}
			switch filepath.Ext(path) {
			case ".go", ".ts", ".tsx", ".css", ".mjs":
				b, err := os.ReadFile(path)
				if err != nil {
					return err
				}
				seen++
				if n := bytes.Count(b, []byte("\n")); n > most {
					t.Errorf("%s has %d lines; a file over %d holds two things", path, n, most)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if seen == 0 {
		t.Fatal("no file seen")
	}
}
