//go:build packaging

package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"debug/buildinfo"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/goreleaser/nfpm/v2"
	_ "github.com/goreleaser/nfpm/v2/deb"
	"github.com/goreleaser/nfpm/v2/files"
	_ "github.com/goreleaser/nfpm/v2/rpm"
)

func main() {
	var p packing
	flag.StringVar(&p.from, "from", "", "folder of the built commands")
	flag.StringVar(&p.docs, "docs", "", "folder of the manual page and the completions")
	flag.StringVar(&p.root, "root", "", "folder of the licences and the README")
	flag.StringVar(&p.to, "to", "", "folder to write to")
	flag.BoolVar(&p.changed, "changed", false, "pack also what no commit stands for")
	flag.StringVar(&p.maintainer, "maintainer", "", "who answers for the packages: Name <address>")
	flag.Parse()
	if err := p.run(); err != nil {
		fmt.Fprintln(os.Stderr, "packages:", err)
		os.Exit(1)
	}
}

type packing struct {
	from, docs, root, to string
	changed              bool
	maintainer           string
	of                   *built // what the first command says, which all have to say
}

// built is what a command says of itself.
type built struct {
	file, os, arch    string
	module            string
	version, revision string
	when              time.Time
}

func (p *packing) run() error {
	all, err := filepath.Glob(filepath.Join(p.from, "handful-*-*"))
	if err != nil {
		return err
	}
	if len(all) == 0 {
		return fmt.Errorf("%s holds no commands", p.from)
	}
	for _, file := range all {
		b, err := p.look(file)
		if err == nil {
			err = p.pack(b)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", file, err)
		}
	}
	return p.sums()
}

// look asks a command's file what it was built from and for, and compares that
// with its name and with the others.
func (p *packing) look(file string) (*built, error) {
	info, err := buildinfo.ReadFile(file)
	if err != nil {
		return nil, err
	}
	b := &built{file: file, module: info.Main.Path, version: info.Main.Version}
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	b.os, b.arch, b.revision = set["GOOS"], set["GOARCH"], set["vcs.revision"]
	name := "handful-" + b.os + "-" + b.arch
	switch is := strings.TrimSuffix(filepath.Base(file), ".exe"); {
	case is != name:
		return nil, fmt.Errorf("it is built for %s on %s", b.os, b.arch)
	case set["CGO_ENABLED"] != "0":
		return nil, fmt.Errorf("it needs libraries of the system")
	case b.revision == "":
		return nil, fmt.Errorf("it does not say from which commit it is: build it in a git repository")
	case set["vcs.modified"] == "true" && !p.changed:
		return nil, fmt.Errorf("no commit stands for it: commit what is changed first")
	}
	if b.when, err = time.Parse(time.RFC3339, set["vcs.time"]); err != nil {
		return nil, err
	}
	if p.of == nil {
		p.of = b
	}
	if b.version != p.of.version || b.revision != p.of.revision {
		return nil, fmt.Errorf("it is %s, and others are %s", b.version, p.of.version)
	}
	return b, nil
}

// pack makes the archive of a command, and on systems with packages those.
func (p *packing) pack(b *built) error {
	name := fmt.Sprintf("handful-%s-%s-%s", strings.TrimPrefix(b.version, "v"), b.os, b.arch)
	command := "handful"
	if b.os == "windows" {
		command += ".exe"
	}
	contents := []content{
		{command, b.file, 0o755},
		{"LICENSE", p.in(p.root, "LICENSE"), 0o644},
		{"THIRD_PARTY_LICENSES", p.in(p.root, "THIRD_PARTY_LICENSES"), 0o644},
		{"README.md", p.in(p.root, "README.md"), 0o644},
		{"CHANGELOG.md", p.in(p.root, "CHANGELOG.md"), 0o644},
		{"handful.1", p.in(p.docs, "handful.1"), 0o644},
		{"completions/handful.bash", p.in(p.docs, "handful.bash"), 0o644},
		{"completions/_handful", p.in(p.docs, "_handful"), 0o644},
		{"completions/handful.fish", p.in(p.docs, "handful.fish"), 0o644},
	}
	if b.os == "windows" {
		return p.write(name+".zip", func(w io.Writer) error { return zipped(w, name, contents, b.when) })
	}
	if err := p.write(name+".tar.gz", func(w io.Writer) error { return tarred(w, name, contents, b.when) }); err != nil {
		return err
	}
	if b.os != "linux" {
		return nil
	}
	for _, format := range []string{"deb", "rpm"} {
		if err := p.installed(b, format); err != nil {
			return fmt.Errorf("%s: %w", format, err)
		}
	}
	return nil
}

func (p *packing) in(dir, name string) string { return filepath.Join(dir, name) }

// content is a file of an archive.
type content struct {
	name, source string
	mode         fs.FileMode
}

func tarred(w io.Writer, dir string, contents []content, when time.Time) error {
	z, _ := gzip.NewWriterLevel(w, gzip.BestCompression)
	t := tar.NewWriter(z)
	for _, c := range contents {
		text, err := os.ReadFile(c.source)
		if err != nil {
			return err
		}
		h := &tar.Header{Typeflag: tar.TypeReg, Name: dir + "/" + c.name, Size: int64(len(text)), Mode: int64(c.mode), ModTime: when, Format: tar.FormatUSTAR}
		if err := t.WriteHeader(h); err != nil {
			return err
		}
		if _, err := t.Write(text); err != nil {
			return err
		}
	}
	if err := t.Close(); err != nil {
		return err
	}
	return z.Close()
}

func zipped(w io.Writer, dir string, contents []content, when time.Time) error {
	z := zip.NewWriter(w)
	for _, c := range contents {
		text, err := os.ReadFile(c.source)
		if err != nil {
			return err
		}
		h := &zip.FileHeader{Name: dir + "/" + c.name, Method: zip.Deflate, Modified: when.UTC()}
		h.SetMode(c.mode)
		f, err := z.CreateHeader(h)
		if err != nil {
			return err
		}
		if _, err := f.Write(text); err != nil {
			return err
		}
	}
	return z.Close()
}

// installed makes a package that a system installs.
func (p *packing) installed(b *built, format string) error {
	tmp, err := os.MkdirTemp("", "packages")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	manual := filepath.Join(tmp, "handful.1.gz")
	changes := filepath.Join(tmp, "changelog.gz")
	terms := filepath.Join(tmp, "copyright")
	entry := filepath.Join(tmp, "changelog.Debian.gz")
	known := filepath.Join(tmp, "overrides")
	for _, z := range []struct{ from, to string }{{p.in(p.docs, "handful.1"), manual}, {p.in(p.root, "CHANGELOG.md"), changes}} {
		text, err := os.ReadFile(z.from)
		if err == nil {
			err = gzipped(text, z.to)
		}
		if err != nil {
			return err
		}
	}
	if err := gzipped(fmt.Appendf(nil, debianChange, b.debianVersion(), p.maintainer, b.when.UTC().Format(time.RFC1123Z)), entry); err != nil {
		return err
	}
	for name, text := range map[string]string{terms: fmt.Sprintf(copyright, b.when.UTC().Year()), known: lintianOverrides} {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			return err
		}
	}
	license := p.in(p.root, "LICENSE")
	others := p.in(p.root, "THIRD_PARTY_LICENSES")
	contents := []content{
		{"/usr/bin/handful", b.file, 0o755},
		{"/usr/share/man/man1/handful.1.gz", manual, 0o644},
		{"/usr/share/bash-completion/completions/handful", p.in(p.docs, "handful.bash"), 0o644},
		{"/usr/share/fish/vendor_completions.d/handful.fish", p.in(p.docs, "handful.fish"), 0o644},
	}
	if format == "deb" {
		contents = append(contents,
			content{"/usr/share/zsh/vendor-completions/_handful", p.in(p.docs, "_handful"), 0o644},
			content{"/usr/share/doc/handful/copyright", terms, 0o644},
			content{"/usr/share/doc/handful/THIRD_PARTY_LICENSES", others, 0o644},
			content{"/usr/share/doc/handful/changelog.gz", changes, 0o644},
			content{"/usr/share/doc/handful/changelog.Debian.gz", entry, 0o644},
			content{"/usr/share/lintian/overrides/handful", known, 0o644})
	} else {
		contents = append(contents,
			content{"/usr/share/zsh/site-functions/_handful", p.in(p.docs, "_handful"), 0o644},
			content{"/usr/share/licenses/handful/LICENSE", license, 0o644},
			content{"/usr/share/licenses/handful/THIRD_PARTY_LICENSES", others, 0o644})
	}
	info := &nfpm.Info{
		Name: "handful", Arch: b.arch, Platform: "linux", Version: b.version, Release: "1",
		Section: "sound", Priority: "optional", Maintainer: p.maintainer, Homepage: "https://" + b.module, License: "Apache-2.0",
		Description: description, MTime: b.when, DisableGlobbing: true,
	}
	info.RPM.BuildHost = "localhost" // not the name of a machine
	info.RPM.Summary, _, _ = strings.Cut(description, "\n")
	for _, c := range contents {
		info.Contents = append(info.Contents, &files.Content{
			Source: c.source, Destination: c.name,
			FileInfo: &files.ContentFileInfo{Owner: "root", Group: "root", Mode: c.mode, MTime: b.when},
		})
	}
	info = nfpm.WithDefaults(info)
	pack, err := nfpm.Get(format)
	if err != nil {
		return err
	}
	return p.write(pack.ConventionalFileName(info), func(w io.Writer) error { return pack.Package(info, w) })
}

const description = `percussion cues for each hand, checked
Handful reads plain-text files that say who covers which percussion part, with
which hand, with what, from where, and finds what hands cannot do in the time
there is. It plans, prints, and serves editors.`

const debianChange = `handful (%s) unstable; urgency=medium

  * What is new stands in changelog.gz beside this file.

 -- %s  %s
`

// What Debian's own packages would not do, and this one does knowingly: the
// command is one file that needs no library of the system, and it is nobody's
// first upload to Debian.
const lintianOverrides = `handful: statically-linked-binary [usr/bin/handful]
handful: initial-upload-closes-no-bugs [usr/share/doc/handful/changelog.Debian.gz:1]
`

const copyright = `Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/
Upstream-Name: handful

Files: *
Copyright: %d the authors of Handful
License: Apache-2.0
 On Debian systems the full text of the Apache License, Version 2.0 is in
 /usr/share/common-licenses/Apache-2.0. What the command is built with, and
 under which terms, is in THIRD_PARTY_LICENSES beside this file.
`

// debianVersion is a version as Debian writes it: what comes before a release
// sorts before it.
func (b *built) debianVersion() string {
	return strings.Replace(strings.TrimPrefix(b.version, "v"), "-", "~", 1) + "-1"
}

func gzipped(text []byte, to string) error {
	var b bytes.Buffer
	z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if _, err := z.Write(text); err != nil {
		return err
	}
	if err := z.Close(); err != nil {
		return err
	}
	return os.WriteFile(to, b.Bytes(), 0o644)
}

func (p *packing) write(name string, fill func(io.Writer) error) error {
	var b bytes.Buffer
	if err := fill(&b); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(p.to, name), b.Bytes(), 0o644)
}

// sums writes the checksums of all that is there, as sha256sum -c reads them.
func (p *packing) sums() error {
	const name = "SHA256SUMS"
	there, err := os.ReadDir(p.to)
	if err != nil {
		return err
	}
	var b strings.Builder
	slices.SortFunc(there, func(a, b os.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	for _, d := range there {
		if d.IsDir() || d.Name() == name {
			continue
		}
		text, err := os.ReadFile(filepath.Join(p.to, d.Name()))
		if err != nil {
			return err
		}
		fmt.Fprintf(&b, "%x  %s\n", sha256.Sum256(text), d.Name())
	}
	return os.WriteFile(filepath.Join(p.to, name), []byte(b.String()), 0o644)
}
