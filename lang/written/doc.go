// Package written reads parts that were written elsewhere.
//
// In come the bytes of a MusicXML 4.0 file (plain or compressed) or of a
// Standard MIDI File. Out comes a [Work], and from it the text of a .handful
// file with a list of what could not be carried over.
//
// The package never opens a file, never guesses in silence, and never fails on
// the music: what it cannot hold is listed with its place.
package written

import (
	"errors"
	"fmt"
	"strings"

	"example.org/handful/lang/kit"
)

// Options steer the reading of a file.
type Options struct {
	// Names says which instrument of the catalogue a name or an abbreviation in
	// the file means: "Cym." → "suspended-cymbal".
	Names map[string]string
	// Catalogue is where names are looked up; nil is the one in the binary.
	Catalogue *kit.Catalogue
	// Numbers names bars by their numbers and not by rehearsal marks, for a text
	// whose parts another piece uses, with marks of its own.
	Numbers bool
}

func (o Options) catalogue() *kit.Catalogue {
	if o.Catalogue == nil {
		return kit.Standard()
	}
	return o.Catalogue
}

// maxFile is the largest file that is read, unpacked, in bytes.
const maxFile = 256 << 20

// Read makes a work of a file, whichever of the formats it is in.
func Read[Text string | []byte](data Text, opt Options) (*Work, error) {
	w, err := opened(string(data), opt)
	if w != nil {
		for _, p := range w.Parts {
			p.whole()
		}
	}
	return w, err
}

// opened makes a work whose parts may be laid as they are written out. The text
// is held by what is made of it.
func opened(data string, opt Options) (*Work, error) {
	opt.Catalogue = opt.catalogue()
	switch {
	case len(data) > maxFile:
		return nil, fmt.Errorf("it is larger than the %d MiB that are read", maxFile>>20)
	case strings.HasPrefix(data, "MThd"):
		return readSMF(data, opt)
	case strings.HasPrefix(data, "PK\x03\x04"):
		inner, err := unpack(data)
		if err != nil {
			return nil, err
		}
		return readXML(inner, opt)
	case strings.TrimSpace(data) == "":
		return nil, errors.New("it is empty")
	}
	return readXML(data, opt)
}

// Text makes the text of a .handful file of a file in one of the formats, with
// what could not be carried over.
func Text[Of string | []byte](data Of, opt Options) (string, []Loss, error) {
	text, lost, err := Pieces(data, opt)
	return strings.Join(text, ""), lost, err
}

// Pieces is what Text is, in pieces that stand one behind the other: of a long
// file there need not be more than one text at once.
func Pieces[Of string | []byte](data Of, opt Options) ([]string, []Loss, error) {
	w, err := opened(string(data), opt)
	if err != nil {
		return nil, nil, err
	}
	return w.pieces(opt.Numbers), w.Lost, nil
}
