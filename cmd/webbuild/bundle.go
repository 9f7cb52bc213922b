package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"sort"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// files holds the future content of dist, by its path there.
type files map[string][]byte

// addHashed adds a file under a name that carries its content's hash and gives its path on the
// site.
func (f files) addHashed(name, ext string, body []byte) string {
	sum := sha256.Sum256(body)
	file := "assets/" + name + "-" + strings.ToUpper(hex.EncodeToString(sum[:])[:10]) + ext
	f[file] = body
	return "/" + file
}

func (f files) names() []string {
	all := make([]string, 0, len(f))
	for name := range f {
		all = append(all, name)
	}
	sort.Strings(all)
	return all
}

type bundler struct {
	web  string
	maps bool
}

func (b bundler) options() (api.BuildOptions, error) {
	web, err := filepath.Abs(b.web)
	if err != nil {
		return api.BuildOptions{}, fmt.Errorf("the client's folder: %w", err)
	}
	o := api.BuildOptions{
		AbsWorkingDir:     web,
		Outdir:            "dist/assets",
		Bundle:            true,
		Write:             false,
		MinifyWhitespace:  true,
		MinifyIdentifiers: true,
		MinifySyntax:      true,
		Target:            api.ES2022,
		Charset:           api.CharsetUTF8,
		JSX:               api.JSXAutomatic,
		JSXImportSource:   "preact",
		LegalComments:     api.LegalCommentsNone,
		Loader:            map[string]api.Loader{".css": api.LoaderEmpty},
		TsconfigRaw:       `{}`,
		Define:            map[string]string{},
	}
	if b.maps {
		o.Sourcemap = api.SourceMapLinked
	}
	return o, nil
}

func run(o api.BuildOptions) (api.BuildResult, error) {
	r := api.Build(o)
	var errs []error
	for _, m := range append(r.Errors, r.Warnings...) {
		where := ""
		if m.Location != nil {
			where = fmt.Sprintf("%s:%d: ", m.Location.File, m.Location.Line)
		}
		errs = append(errs, errors.New(where+m.Text))
	}
	return r, errors.Join(errs...)
}

func defines(o *api.BuildOptions, values map[string]string) error {
	for name, v := range values {
		quoted, err := json.Marshal(v)
		if err != nil {
			return fmt.Errorf("define %s: %w", name, err)
		}
		o.Define[name] = string(quoted)
	}
	return nil
}

// add takes the outputs of a bundle and returns the site path of the one whose name starts with
// prefix.
func add(out files, r api.BuildResult, prefix string) (string, error) {
	entry := ""
	for _, f := range r.OutputFiles {
		base := filepath.Base(f.Path)
		out["assets/"+base] = f.Contents
		if strings.HasPrefix(base, prefix+"-") && !strings.HasSuffix(base, ".map") {
			entry = "/assets/" + base
		}
	}
	if entry == "" {
		return "", fmt.Errorf("the bundle has no output for %s", prefix)
	}
	return entry, nil
}

// one bundles a worker into a single classic script.
func (b bundler) one(entry string, values map[string]string, out files) (string, error) {
	o, err := b.options()
	if err != nil {
		return "", err
	}
	o.EntryPoints = []string{entry}
	o.EntryNames = "[name]-[hash]"
	o.Format = api.FormatIIFE
	if err := defines(&o, values); err != nil {
		return "", err
	}
	r, err := run(o)
	if err != nil {
		return "", err
	}
	return add(out, r, strings.TrimSuffix(path.Base(entry), path.Ext(entry)))
}

// page bundles the page's script; screens that are imported lazily become pieces of their own.
func (b bundler) page(values map[string]string, out files) (string, error) {
	o, err := b.options()
	if err != nil {
		return "", err
	}
	o.EntryPoints = []string{"src/main.tsx"}
	o.EntryNames = "[name]-[hash]"
	o.ChunkNames = "[name]-[hash]"
	o.Format = api.FormatESModule
	o.Splitting = true
	if err := defines(&o, values); err != nil {
		return "", err
	}
	r, err := run(o)
	if err != nil {
		return "", err
	}
	return add(out, r, "main")
}

// deskSheet is fetched with the office's screens, which no phone at a gauge opens.
const deskSheet = "desk.css"

// deskStyles adds that sheet under a separate name and returns its path on the site.
func (b bundler) deskStyles(out files) (string, error) {
	o, err := b.options()
	if err != nil {
		return "", err
	}
	o.Loader = nil
	o.EntryPoints = []string{"src/styles/" + deskSheet}
	o.EntryNames = "[name]-[hash]"
	r, err := run(o)
	if err != nil {
		return "", err
	}
	return add(out, r, strings.TrimSuffix(deskSheet, ".css"))
}

// styles joins all other style sheets of the client: base.css first, the others by path.
func (b bundler) styles(out files) (string, error) {
	var sheets []string
	src := filepath.Join(b.web, "src")
	err := filepath.WalkDir(src, func(p string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() && d.Name() == verifyPart {
			return filepath.SkipDir // a separate page
		}
		if err == nil && !d.IsDir() && filepath.Ext(p) == ".css" && d.Name() != "base.css" && d.Name() != deskSheet {
			rel, err := filepath.Rel(src, p)
			if err != nil {
				return err
			}
			sheets = append(sheets, filepath.ToSlash(rel))
		}
		return err
	})
	if err != nil {
		return "", fmt.Errorf("style sheets: %w", err)
	}
	sort.Strings(sheets)
	var entry strings.Builder
	for _, s := range append([]string{"styles/base.css"}, sheets...) {
		fmt.Fprintf(&entry, "@import %q;\n", "./"+s)
	}
	o, err := b.options()
	if err != nil {
		return "", err
	}
	o.Loader = nil
	o.EntryNames = "styles-[hash]"
	o.Stdin = &api.StdinOptions{
		Contents: entry.String(), ResolveDir: filepath.Join(o.AbsWorkingDir, "src"),
		Sourcefile: "styles.css", Loader: api.LoaderCSS,
	}
	r, err := run(o)
	if err != nil {
		return "", err
	}
	return add(out, r, "styles")
}

// verifyPart is the page where anybody checks a certificate: its folder and the name of its files.
const verifyPart = "verify"

// verifyPage adds that page, with a script and a sheet of its own; no device keeps it.
func (b bundler) verifyPage(values map[string]string, out files) error {
	script, err := b.one("src/verify/verify.ts", values, out)
	if err != nil {
		return err
	}
	o, err := b.options()
	if err != nil {
		return err
	}
	o.Loader = nil
	o.EntryPoints = []string{"src/verify/verify.css"}
	o.EntryNames = "[name]-[hash]"
	r, err := run(o)
	if err != nil {
		return err
	}
	styles, err := add(out, r, verifyPart)
	if err != nil {
		return err
	}
	out["verify.html"] = standingPage(script, styles)
	return nil
}

type precached struct {
	URL    string `json:"url"`
	SHA256 string `json:"sha256"`
}

// hashed is how many hexadecimal digits of a hash the list carries: 128 bits, enough to tell files
// apart for certain, and half of what the digits would add to a first visit.
const hashed = 32

// precache lists the files that the phone keeps for work without a connection, with their expected
// hashes. Areas that need a connection are fetched when it is there.
func precache(out files) []precached {
	return listed(out, func(name string) bool { return name != "sw.js" && !of(name).apart })
}

// spoken are the languages besides English, each with the beginning of its scripts' names. A device
// set to one of them keeps its scripts too.
var spoken = map[string]string{"de": "german"}

// listed lists the files that a phone keeps, without source maps.
func listed(out files, wanted func(name string) bool) []precached {
	var all []precached
	for _, name := range out.names() {
		if strings.HasSuffix(name, ".map") || !wanted(name) {
			continue
		}
		url := "/" + name
		if name == "index.html" {
			url = "/"
		}
		sum := sha256.Sum256(out[name])
		all = append(all, precached{url, hex.EncodeToString(sum[:])[:hashed]})
	}
	return all
}

// serviceWorker bundles sw.js last, since it carries the hashes of all other files.
func (b bundler) serviceWorker(out files) error {
	list, err := json.Marshal(precache(out))
	if err != nil {
		return fmt.Errorf("precache list: %w", err)
	}
	languages := map[string][]precached{}
	for language, start := range spoken {
		languages[language] = listed(out, func(name string) bool { return is(name, start) })
		if len(languages[language]) == 0 {
			return fmt.Errorf("no script of the language %s", language)
		}
	}
	others, err := json.Marshal(languages)
	if err != nil {
		return fmt.Errorf("list of languages: %w", err)
	}
	version := sha256.Sum256(append(list, others...))
	o, err := b.options()
	if err != nil {
		return err
	}
	o.EntryPoints = []string{"src/sw/sw.ts"}
	o.Format = api.FormatIIFE
	o.Sourcemap = api.SourceMapNone
	o.Define["PRECACHE"], o.Define["LANGUAGES"] = string(list), string(others)
	if err := defines(&o, map[string]string{"BUILD": hex.EncodeToString(version[:])[:12]}); err != nil {
		return err
	}
	r, err := run(o)
	if err != nil {
		return err
	}
	if len(r.OutputFiles) != 1 {
		return fmt.Errorf("the service worker became %d files", len(r.OutputFiles))
	}
	out["sw.js"] = r.OutputFiles[0].Contents
	return nil
}

// bundleTests makes one script of each webapp/test/*.test.ts(x) and puts calc.wasm beside them, for
// node --test.
func bundleTests(p plan) error {
	root := p.root
	web := filepath.Join(root, "webapp")
	found, err := filepath.Glob(filepath.Join(web, "test", "*.test.ts*"))
	if err != nil {
		return fmt.Errorf("tests: %w", err)
	}
	if len(found) == 0 {
		return errors.New("no test found in webapp/test")
	}
	o, err := bundler{web: web}.options()
	if err != nil {
		return err
	}
	for _, f := range found {
		o.EntryPoints = append(o.EntryPoints, "test/"+filepath.Base(f))
	}
	o.Platform = api.PlatformNode
	o.Format = api.FormatESModule
	o.OutExtension = map[string]string{".js": ".mjs"}
	o.Outdir = filepath.Join("..", "bin", "webtest")
	o.MinifyIdentifiers, o.MinifyWhitespace, o.MinifySyntax = false, false, false
	o.Write = true
	o.Sourcemap = api.SourceMapInline
	if err := os.RemoveAll(filepath.Join(root, "bin", "webtest")); err != nil {
		return fmt.Errorf("old test bundles: %w", err)
	}
	if _, err := run(o); err != nil {
		return err
	}
	body, _, err := calcModule(p)
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(root, "bin", "webtest", "calc.wasm"), body, 0o644); err != nil {
		return fmt.Errorf("calc.wasm for the tests: %w", err)
	}
	return nil
}
