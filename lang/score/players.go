package score

import (
	"slices"
	"strconv"

	"example.org/handful/lang/body"
	"example.org/handful/lang/syntax"
)

// players opens every player and reads the set-ups.
func (b *binder) players() {
	src := b.Sources[0]
	byOwner := map[int]*Player{}
	b.parted = true
	for i, l := range src.File.Lines {
		s, ok := l.Stmt.(*syntax.Player)
		if !ok || s.Name.Text == "" {
			continue
		}
		name := s.Name.Value()
		p := b.Player(name)
		if p == nil {
			p = b.newPlayer(name, at(0, i, s.Name.Span()))
			b.Players = append(b.Players, p)
		} else {
			b.parted = false
		}
		byOwner[i] = p
	}
	b.setups(byOwner)
	b.upTo.kits = len(b.Problems)
	b.byOwner(byOwner)
	b.upTo.owned = len(b.Problems)
}

// newPlayer is somebody of whom nothing is said yet.
func (b *binder) newPlayer(name string, where Where) *Player {
	return &Player{Name: name, Profile: b.defaultProfile(), Where: where, Stations: []Station{{}}}
}

// setups reads the set-ups, and what is said of the players themselves.
func (b *binder) setups(byOwner map[int]*Player) {
	for fi := range b.Sources {
		b.kits(fi, byOwner)
	}
	for _, p := range b.Players {
		for _, it := range b.Shared {
			own := p.Item(it.Name)
			switch {
			case own == nil:
				copied := *it
				p.Items = append(p.Items, &copied)
				p.HasKit = true
			case own.isThat(it):
				own.Shared = true
			}
		}
	}
	src := b.Sources[0]
	for i, l := range b.eachLine(0) {
		p := byOwner[src.Seats[i].Owner]
		if p == nil || l.Broken || src.Seats[i].Block != syntax.InPlayer {
			continue
		}
		switch s := l.Stmt.(type) {
		case *syntax.Profile:
			b.profile(p, i, s)
		case *syntax.Setting:
			b.setting(p, i, s)
		default:
			b.person(p, i, s)
		}
	}
	b.contradictions(byOwner)
}

// Player finds a player by name.
func (s *Score) Player(name string) *Player {
	for _, p := range s.Players {
		if p.Name == name {
			return p
		}
	}
	return nil
}

// mayMeanPlayer is mayMean with the player of the nearest name.
func (p *Problem) mayMeanPlayer(not string, players []*Player) {
	var names []string
	for _, pl := range players {
		names = append(names, pl.Name)
	}
	if near := syntax.Nearest(not, names); near != "" {
		p.mayMean(syntax.Print(syntax.TitleOf(near)))
	}
}

// Item finds an instrument of the player's set-up by its name there.
func (p *Player) Item(name string) *Item {
	for _, it := range p.Items {
		if it.Name == name {
			return it
		}
	}
	return nil
}

// Has says whether a set-up has what a way of playing needs, as an instrument or
// as a thing by itself.
func (p *Player) Has(need string) bool {
	return slices.ContainsFunc(p.Items, func(it *Item) bool { return it.Name == need || it.Kind == need }) ||
		slices.ContainsFunc(p.Hardware, func(h Hardware) bool { return h.Name == need })
}

func (b *binder) profile(p *Player, line int, s *syntax.Profile) {
	pr, ok := body.ProfileNamed(s.Name.Text)
	if !ok {
		b.fault(syntax.RuleValue, at(0, line, s.Name.Span()), noSuchProfile, quoteWord(s.Name.Text)).expects(s.Name.Text, body.ProfileNames()...)
		return
	}
	p.Profile = pr
	for k := range s.Settings {
		b.setting(p, line, &s.Settings[k])
	}
}

func (b *binder) setting(p *Player, line int, s *syntax.Setting) {
	v, err := strconv.ParseFloat(s.Value.Text, 64)
	where := at(0, line, s.Value.Span())
	check := func(least, most float64, what string) bool {
		if err != nil || !(v >= least && v <= most) {
			b.fault(syntax.RuleValue, where, settingOutOfRange, s.Word.Text, what).within(least, most)
			return false
		}
		return true
	}
	switch s.Word.Text {
	case "reach":
		if check(20, 120, "how far the player reaches, in centimetres") {
			p.Profile.Lean += v - p.Profile.Reach
			p.Profile.Reach = v
		}
	case "fastest":
		if check(1, 20, "the most strokes a second of one hand") {
			p.Profile.Fastest = v
		}
	case "margin":
		if check(0.5, 5, "how many times the steady time a change should have") {
			p.Profile.Margin = v
		}
	default:
		b.fault(syntax.RuleSyntax, at(0, line, s.Word.Span()), notASetting, quoteWord(s.Word.Text)).expects(s.Word.Text, "reach", "fastest", "margin")
	}
}

// defaultProfile is that of players who do not say one.
func (b *binder) defaultProfile() body.Profile {
	if p, ok := body.ProfileNamed(b.opt.Profile); ok {
		return p
	}
	return body.Experienced()
}
