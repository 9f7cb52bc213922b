// Package dcctest validates digital calibration certificates against their published schemas.
package dcctest

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Main is the schema of DCC 3.3.0, below a folder of schemas that has a catalog.xml.
const Main = "dcc/v3.3.0/dcc.xsd"

// folder finds the schemas: in the folder that DCC_XSD_DIR names, else in shared/dcc/xsd beside the
// checkout. Their licence keeps them out of this repository; https://ptb.de/dcc/v3.3.0/dcc.xsd has
// them.
func folder(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("DCC_XSD_DIR")
	if dir == "" {
		at, err := os.Getwd()
		if err != nil {
			t.Fatal(err)
		}
		for at != filepath.Dir(at) {
			if _, err := os.Stat(filepath.Join(at, "go.mod")); err == nil {
				break
			}
			at = filepath.Dir(at)
		}
		dir = filepath.Join(filepath.Dir(at), "shared", "dcc", "xsd")
	}
	if _, err := os.Stat(filepath.Join(dir, Main)); err != nil {
		t.Skip("the schemas of DCC are not here: put those of https://ptb.de/dcc/v3.3.0/dcc.xsd with a catalog.xml into a folder and name it in DCC_XSD_DIR")
	}
	return dir
}

// Validate returns what xmllint says of each file of a folder; "" where the schema holds for all.
func Validate(t testing.TB, files ...string) string {
	t.Helper()
	dir := folder(t)
	if _, err := exec.LookPath("xmllint"); err != nil {
		t.Fatal("xmllint is missing: install Debian's libxml2-utils")
	}
	cmd := exec.Command(
		"xmllint",
		append([]string{"--nonet", "--noout", "--schema", filepath.Join(dir, Main)}, files...)...,
	)
	cmd.Env = append(os.Environ(), "XML_CATALOG_FILES="+filepath.Join(dir, "catalog.xml"))
	out, err := cmd.CombinedOutput()
	if err == nil {
		return ""
	}
	var wrong []string
	for _, line := range strings.Split(string(out), "\n") {
		if line != "" && !strings.HasSuffix(line, " validates") {
			wrong = append(wrong, line)
		}
	}
	return strings.Join(wrong, "\n")
}
