// Package proof says whether it is true that so many people must lose so much of
// a piece, whoever plays what.
//
// In come a parsed file and a [Certificate]: moments, each with written strokes of
// which no hand can play two. Out comes a [Verdict]: what is certain of it. Nothing
// in a certificate is believed. Times, weights and hands are worked out anew from
// the file, and that no hand can play two strokes is what [lang/check] says of a
// little piece that is written for it, in every way of playing there is.
//
// The package shares no code with the search for plans, and never plans.
package proof

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// Format is what a certificate says it is.
const Format = "handful certificate 1"

// A Certificate claims that a cast must lose something of a piece.
type Certificate struct {
	Format string `json:"format"`
	Piece  string `json:"piece"`  // its name, for whoever reads this
	SHA256 string `json:"sha256"` // of its text
	Cast   Cast   `json:"cast"`
	// Weights are what a stroke counts.
	Weights Weights `json:"weights"`
	// Anew are the omit lines of the file, from 1, that do not count as the file's
	// own: what they leave out is thought of again.
	Anew []int `json:"omits-anew,omitempty"`
	// StandIns says that the catalogue's stand-ins may be played.
	StandIns bool     `json:"stand-ins,omitempty"`
	Claim    Claim    `json:"claim"`
	Moments  []Moment `json:"moments"`
}

// A Cast is who plays.
type Cast struct {
	Players []string `json:"players"`
	// Added is the profile of those that the file does not have.
	Added string `json:"added,omitempty"`
	// Usual is the profile of players of the file who do not say one.
	Usual string `json:"usual,omitempty"`
	// Tempo is how many times the written tempo it is; 0 is once.
	Tempo float64 `json:"tempo,omitempty"`
}

// Weights say what a lost stroke counts.
type Weights struct {
	Stroke  float64 `json:"stroke"`
	Exposed float64 `json:"exposed"`
	Driving float64 `json:"driving"`
	Climax  float64 `json:"climax"`
	Doubled float64 `json:"doubled"`
}

// A Claim is what is to be shown.
type Claim struct {
	LostAtLeast float64 `json:"lost-at-least"` // weighted
}

// A Moment is a stretch of one bar in which more hands are wanted than there are.
type Moment struct {
	Bar         int      `json:"bar"`
	LostAtLeast float64  `json:"lost-at-least"`
	Strokes     []Stroke `json:"strokes"` // of which no hand can play two
}

// A Stroke is one written stroke.
type Stroke struct {
	Part   string  `json:"part"`
	Line   string  `json:"line"`
	Nth    int     `json:"nth"`   // of its line in this bar, from 1
	Count  string  `json:"count"` // for whoever reads this
	Hands  int     `json:"hands"` // that it takes at the least
	Weight float64 `json:"weight"`
}

// Write writes a certificate down.
func (c *Certificate) Write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(c)
}

// most bounds how large a certificate is read, in bytes.
const most = 64 << 20

// Read reads a certificate.
func Read(r io.Reader) (*Certificate, error) {
	text, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return nil, err
	}
	if len(text) > most {
		return nil, errors.New("a certificate of more than 64 MB is not read")
	}
	var c Certificate
	if err := json.Unmarshal(text, &c); err != nil {
		return nil, fmt.Errorf("this is no certificate: %w", words(err))
	}
	if c.Format != Format {
		return nil, fmt.Errorf("this is no certificate: its format is %q, and should be %q", c.Format, Format)
	}
	return &c, nil
}

// words is what is wrong with a text that is not JSON as it should be.
func words(err error) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		return fmt.Errorf("byte %d does not belong where it stands", syntax.Offset)
	case errors.As(err, &kind):
		return fmt.Errorf("what stands under %q is no such thing (byte %d)", kind.Field, kind.Offset)
	}
	return err
}
