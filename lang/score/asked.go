package score

import (
	"slices"
	"strings"

	"example.org/handful/lang/kit"
	"example.org/handful/lang/syntax"
)

// Asked is what a cue asks of the way in which it is played.
type Asked struct {
	kit.Ask
	Ways  []*kit.Way // those that fit, on one mount, in the instrument's order
	Mount kit.Mount  // theirs
	Where Where      // of the words
}

// SaidMount is the mount that a cue names, or that only the way it asks for
// has; AnyMount when it leaves that open.
func (c *Cue) SaidMount() kit.Mount {
	if c.Mount == kit.AnyMount && c.Asks != nil {
		return c.Asks.Mount
	}
	return c.Mount
}

// mostWays is how many ways a message names.
const mostWays = 8

// asked finds the ways that a cue asks for in words. What cannot be made out is
// reported, and the cue is played as if nothing had been asked.
func (b *binder) asked(c *Cue, line int, s *syntax.Cue) {
	if len(s.Asked) == 0 {
		return
	}
	ask, where, alone := b.askedFor(line, s)
	in := c.Item.Inst
	said := c.Mount
	if said == kit.AnyMount {
		said = c.Item.Mount
	}
	mount := said
	if said == kit.AnyMount {
		mount = in.Usual().Mount
	}
	fits := b.fitting(c, in.Asked(mount, ask))
	if len(fits) == 0 && said == kit.AnyMount {
		fits = b.fitting(c, in.Asked(kit.AnyMount, ask))
	}
	if len(fits) == 0 {
		b.noWay(c, ask, said, where, alone)
		return
	}
	if !slices.ContainsFunc(fits, func(w *kit.Way) bool { return w.Mount != fits[0].Mount }) {
		c.Asks = &Asked{Ask: ask, Ways: fits, Mount: fits[0].Mount, Where: where}
		return
	}
	var readings []syntax.Reading
	var mounts []string
	for _, w := range fits {
		if word := w.Mount.String(); !slices.Contains(mounts, word) {
			mounts = append(mounts, word)
			readings = append(readings, syntax.Reading{Text: word + " " + b.textAt(where)})
		}
	}
	p := b.fault(syntax.RuleUnknownWay, where, severalWays, in.Name(), in.Verb("is", "are"), ask, strings.Join(mounts, " or "))
	if alone {
		p.Readings = readings
	}
}

// askedFor reads the words that ask for a way of playing, where they stand, and
// whether nothing else stands between them.
func (b *binder) askedFor(line int, s *syntax.Cue) (ask kit.Ask, where Where, alone bool) {
	var words []string
	text := b.Sources[0].File.Lines[line].Text
	where, alone = at(0, line, s.Asked[0].Span()), true
	for i := range s.Asked {
		span := at(0, line, s.Asked[i].Span())
		if i > 0 && strings.TrimSpace(text[where.End:max(where.End, span.Start)]) != "" {
			alone = false
		}
		where = where.Cover(span)
		if word := s.Asked[i].String(); word[0] == '"' {
			words = append(words, word)
		} else {
			words = append(words, strings.Fields(word)...)
		}
	}
	ask, _ = kit.ReadAsk(words)
	return ask, where, alone
}

func (b *binder) textAt(w Where) string {
	return b.Sources[w.File].File.Lines[w.Line].Text[w.Start:w.End]
}

// fitting are the ways of a list that the cue's limb can play, with the
// implement that it names.
func (b *binder) fitting(c *Cue, list []*kit.Way) []*kit.Way {
	return slices.DeleteFunc(slices.Clone(list), func(w *kit.Way) bool { return !c.mayPlay(w) })
}

// mayPlay says whether a way is for the cue's limb and what it names to strike
// with.
func (c *Cue) mayPlay(w *kit.Way) bool {
	if w.Limb != kit.KindOf(c.Limb) {
		return false
	}
	return len(c.With) == 0 || slices.ContainsFunc(w.With, func(ch kit.Choice) bool { return ch.Implement == c.With[0].Implement })
}

// noWay reports that nothing is played like that, and names what is.
func (b *binder) noWay(c *Cue, ask kit.Ask, said kit.Mount, where Where, alone bool) {
	in := c.Item.Inst
	p := b.found(syntax.RuleUnknownWay, where, syntax.About{})
	mounted := ""
	if said != kit.AnyMount {
		mounted = said.String() + " "
	}
	if others := waysForOthers(in, said, ask); len(others) > 0 {
		switch {
		case !slices.ContainsFunc(others, func(w *kit.Way) bool { return w.Limb == kit.KindOf(c.Limb) }):
			p.About = syntax.Tells(wayForOtherLimb, strings.TrimSpace(mounted+ask.String()), in.Name(), others[0].Limb, c.Limb.Name())
			return
		case len(c.With) > 0 && others[0].Named == ask.Named:
			p.About = syntax.Tells(wayForOtherStick, in.Name(), mounted, ask, b.Catalogue.Implement(c.With[0].Implement).Name())
			return
		}
	}
	p.About = syntax.Tells(noSuchWay, in.Name(), mounted, ask)
	ways, named := c.playable(said)
	switch more := len(ways) - mostWays; {
	case more > 0:
		p.About = syntax.Tells(noSuchWayOfMany, in.Name(), mounted, ask, more)
	case len(ways) > 0:
		p.Template = noSuchWayOf
	}
	p.Expected = ways[:min(len(ways), mostWays)]
	if meant := syntax.Nearest(ask.Named, named); meant != "" && alone && ask == (kit.Ask{Named: ask.Named}) {
		p.mayMean(syntax.Quote(meant))
	}
}

// waysForOthers are the ways that are asked for, whatever they are played with;
// or that are called so but for capital letters.
func waysForOthers(in *kit.Instrument, said kit.Mount, ask kit.Ask) []*kit.Way {
	others := in.Asked(said, ask)
	if len(others) > 0 || ask.Named == "" {
		return others
	}
	for _, w := range in.Ways {
		if w.Named != "" && w.Named != ask.Named && strings.EqualFold(w.Named, ask.Named) {
			others = append(others, w)
		}
	}
	return others
}

// playable is how the cue's limb plays its instrument: the words that ask for
// each way, and the names of those that the cue may mean.
func (c *Cue) playable(said kit.Mount) (ways, named []string) {
	in := c.Item.Inst
	for _, w := range in.Ways {
		if w.Limb != kit.KindOf(c.Limb) {
			continue
		}
		words := in.AskFor(w).String()
		if said == kit.AnyMount || w.Mount != said {
			words = strings.TrimSpace(w.Mount.String() + " " + words)
		}
		if !slices.Contains(ways, words) && words != "" {
			ways = append(ways, words)
		}
		if w.Named != "" && (said == kit.AnyMount || w.Mount == said) && c.mayPlay(w) {
			named = append(named, w.Named)
		}
	}
	return ways, named
}
