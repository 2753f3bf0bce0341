package written

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// unpack gives the score of a compressed MusicXML file: the first root file of
// its container. Names are looked up in the archive and nowhere else.
func unpack(data string) (string, error) {
	z, err := zip.NewReader(strings.NewReader(data), int64(len(data)))
	if err != nil {
		return "", fmt.Errorf("the compressed file cannot be read: %w", err)
	}
	index, err := member(z, "META-INF/container.xml", 1<<20)
	if err != nil {
		return "", err
	}
	var container struct {
		Roots []struct {
			Path string `xml:"full-path,attr"`
			Type string `xml:"media-type,attr"`
		} `xml:"rootfiles>rootfile"`
	}
	if err := xml.Unmarshal([]byte(index), &container); err != nil {
		return "", fmt.Errorf("META-INF/container.xml: %w", err)
	}
	for _, r := range container.Roots {
		if r.Type == "" || strings.Contains(r.Type, "musicxml") {
			if clean := path.Clean(r.Path); clean != r.Path || path.IsAbs(clean) || strings.HasPrefix(clean, "..") {
				return "", fmt.Errorf("the container names %q, which is no place in it", r.Path)
			}
			return member(z, r.Path, maxFile)
		}
	}
	return "", errors.New("the container names no score")
}

// member is one file of an archive, no larger than most.
func member(z *zip.Reader, name string, most int64) (string, error) {
	for _, f := range z.File {
		if f.Name != name {
			continue
		}
		r, err := f.Open()
		if err != nil {
			return "", fmt.Errorf("%s in the compressed file: %w", name, err)
		}
		defer r.Close()
		var data strings.Builder
		data.Grow(int(min(f.UncompressedSize64, 1<<20))) // what it says is not taken at its word
		size, err := io.Copy(&data, io.LimitReader(r, most+1))
		switch {
		case err != nil:
			return "", fmt.Errorf("%s in the compressed file: %w", name, err)
		case size > most:
			return "", fmt.Errorf("%s in the compressed file unpacks to more than the %d MiB that are read", name, most>>20)
		}
		return data.String(), nil
	}
	return "", fmt.Errorf("the compressed file holds no %s", name)
}
