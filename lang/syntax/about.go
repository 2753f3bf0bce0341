package syntax

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// About is what a problem is about. It has no words until somebody reads it:
// what else works with it, as fixes do, asks its fields.
type About struct {
	// Template is the sentence as fmt has it, and Things are what it speaks of,
	// in that order. In the template {near}, {readings}, {expected}, {least} and
	// {most} stand for the fields below.
	Template string
	Things   []any
	// Near are names that may have been meant. A template that has no place for
	// them asks about them at its end.
	Near []string
	// Readings are what a text may mean, each as what to write instead.
	Readings []Reading
	// Expected are the words that may stand there.
	Expected []string
	// Least and Most are the bounds of a number.
	Least, Most float64
}

// A Reading is one thing that somebody may have meant.
type Reading struct {
	Says string // what it means, in a word or two; may be empty
	Text string
}

// Tells is what a template has to tell of some things.
func Tells(template string, things ...any) About {
	if false {
		_ = fmt.Sprintf(template, things...) // has vet compare the two wherever this is called
	}
	return About{Template: template, Things: things}
}

// A Refusal is an error that says what it is about.
type Refusal struct{ About }

func (r *Refusal) Error() string { return r.Message() }

// AboutOf is what an error is about; in its own words where it is no Refusal.
func AboutOf(err error) About {
	if r, ok := errors.AsType[*Refusal](err); ok {
		return r.About
	}
	return Tells(inItsWords, err)
}

// MayMean names what may have been meant; empty names are none.
func (a *About) MayMean(near ...string) {
	a.Near = slices.DeleteFunc(slices.Clone(near), func(name string) bool { return name == "" })
}

// Message is what it is about, in words: one sentence, without a full stop.
func (a *About) Message() string {
	template := a.Template
	if len(a.Near) > 0 && !strings.Contains(template, "{near}") {
		template += didYouMean
	}
	if strings.IndexByte(template, '{') >= 0 {
		template = strings.NewReplacer(
			"{near}", verbatim(strings.Join(a.Near, " or ")),
			"{readings}", verbatim(ways(a.Readings)),
			"{expected}", verbatim(strings.Join(a.Expected, ", ")),
			"{least}", strconv.FormatFloat(a.Least, 'g', -1, 64),
			"{most}", strconv.FormatFloat(a.Most, 'g', -1, 64),
		).Replace(template)
	}
	return fmt.Sprintf(template, a.Things...)
}

// String is Message, for what speaks of another problem.
func (a *About) String() string { return a.Message() }

// didYouMean asks for the names that may have been meant.
const didYouMean = "; did you mean {near}?"

// verbatim has fmt write a text as it is.
func verbatim(text string) string { return strings.ReplaceAll(text, "%", "%%") }

// ways joins readings for a message: R+L (together) or RL (in turn).
func ways(list []Reading) string {
	out := make([]string, len(list))
	for i, r := range list {
		out[i] = r.Text
		if r.Says != "" {
			out[i] += " (" + r.Says + ")"
		}
	}
	return strings.Join(out, " or ")
}
