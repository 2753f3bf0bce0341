package plan

import (
	"strings"

	"example.org/handful/lang/check"
	"example.org/handful/lang/syntax"
)

// keeping is what a player's block says besides its cues, for the block that a
// plan writes: settings, notes, the kit, what the hands hold at the start and do
// at set places, and every comment.
type keeping struct {
	opener, kitOpener string // comments behind player and kit
	head, kit, tail   []string
	hardware          []string // what else the kit has to list
	ranged            bool     // the cues stand among others, and each says its bars
}

// stays collects what a player's block says besides its cues. Comments that stood
// alone or behind a cue begin the new block, for whoever wrote them to put in
// their place. What a check has objected to beside the new cues stays as a comment.
func (j *job) stays(name string) keeping {
	var k keeping
	var comments, settings []string
	seats, owner := j.file.Seats(), j.owners()
	pass := 0
	for i, l := range j.file.Lines {
		if owner[i] != name {
			continue
		}
		text, c := strings.TrimSpace(l.Code()), l.Comment()
		whole := text
		if c != "" {
			whole += "  " + c
		}
		switch s := l.Stmt.(type) {
		case *syntax.Player:
			k.opener, comments = opened(k.opener, comments, c)
			continue
		case *syntax.Kit:
			k.kitOpener, comments = opened(k.kitOpener, comments, c)
			continue
		case *syntax.From:
			if pass = 0; s.Pass != nil && s.Pass.Text != "" && !l.Broken {
				pass = int(s.Pass.Text[0] - '0')
			}
		case *syntax.Item, *syntax.Stand:
			if seats[i].Block == syntax.InKit && !l.Broken {
				k.kit = append(k.kit, whole)
				continue
			}
		case *syntax.LimbLine:
			switch {
			case l.Broken || s.Cue != nil:
			case j.loose[name][text]:
				comments = append(comments, "# left out, since it does not go with the new cues: "+text)
			case s.Holds != nil:
				settings = append(settings, whole)
				continue
			case pass > 0: // from 1, since a from ends what is open above it
				k.tail = append(k.tail, syntax.Print(&syntax.From{Place: syntax.Bar(1), Pass: new(syntax.Number(float64(pass)))}), whole)
				continue
			default:
				k.tail = append([]string{whole}, k.tail...)
				continue
			}
		case *syntax.More, nil:
		case *syntax.Accept:
			continue // stays where it is
		default:
			if l.Form.In&syntax.InPlayer != 0 && !l.Broken {
				settings = append(settings, whole)
				continue
			}
		}
		if c != "" {
			comments = append(comments, c)
		}
	}
	k.head = append(comments, settings...)
	return k
}

// opened puts a comment behind an opening line, or with the others when another
// stands there.
func opened(have string, others []string, comment string) (string, []string) {
	switch {
	case comment == "":
	case have == "":
		have = "  " + comment
	default:
		others = append(others, comment)
	}
	return have, others
}

// loosen gives up what a new block keeps, where an error is about it: those lines
// that the error speaks of, or with all every one of the player's. It says whether
// there was any.
func (j *job) loosen(d *draft, f *check.Finding, all bool) bool {
	player := j.old.Score.Player(f.Player)
	if player == nil || j.opt.Keep {
		return false
	}
	at := map[int32]bool{f.Where.Line: true}
	for _, n := range f.Related {
		at[n.Where.Line] = true
	}
	found := false
	for line, o := range d.out.lines {
		if o.old >= 0 || !all && !at[int32(line)] {
			continue
		}
		l := syntax.ParseLine(o.text)
		s, ok := l.Stmt.(*syntax.LimbLine)
		if !ok || s.Cue != nil || s.Turns != nil || ownerOf(d.out.lines, line) != f.Player {
			continue
		}
		for i, old := range j.file.Lines {
			text := strings.TrimSpace(old.Code())
			if j.owners()[i] == f.Player && syntax.Same(text, strings.TrimSpace(l.Code())) == nil && !j.loose[f.Player][text] {
				if j.loose[f.Player] == nil {
					j.loose[f.Player] = map[string]bool{}
				}
				j.loose[f.Player][text] = true
				found = true
			}
		}
	}
	return found
}

// ownerOf is the player whose block a line of a plan stands in.
func ownerOf(lines []outLine, at int) string {
	for i := at; i >= 0; i-- {
		if p, ok := syntax.ParseLine(lines[i].text).Stmt.(*syntax.Player); ok && lines[i].old < 0 {
			return p.Name.Value()
		}
	}
	return ""
}

// unsaid is what a plan's text would lose of what the file says besides cues, or
// "": every comment, and of everybody who still plays every statement but the cues
// and where they begin, if only as a comment. It reads both texts afresh.
func unsaid(before *syntax.File, after string, plays func(player string) bool) string {
	if c := syntax.LostComment(withoutSaid(before), after); c != "" {
		return c
	}
	var said map[string]int
	comments := ""
	seats := before.Seats()
	for i, l := range before.Lines {
		s := seats[i]
		if l.Broken || l.Form == nil || s.Block != syntax.InPlayer || s.Owner < 0 {
			continue
		}
		if p, ok := before.Lines[s.Owner].Stmt.(*syntax.Player); !ok || !plays(p.Name.Value()) {
			continue
		}
		switch s := l.Stmt.(type) {
		case *syntax.From, *syntax.More, *syntax.Player:
			continue
		case *syntax.LimbLine:
			if s.Cue != nil {
				continue
			}
		}
		if said == nil {
			said, comments = sayings(after)
		}
		text := syntax.Canonical(l.Code())
		if said[text] > 0 {
			said[text]--
		} else if !strings.Contains(comments, strings.TrimSpace(l.Code())) {
			return text
		}
	}
	return ""
}

// sayings are how often each line stands in a text, and its comments.
func sayings(text string) (said map[string]int, comments string) {
	said = map[string]int{}
	var all strings.Builder
	for _, l := range syntax.Parse(text).Lines {
		said[syntax.Canonical(l.Code())]++
		if c := l.Comment(); c != "" {
			all.WriteString(c + "\n")
		}
	}
	return said, all.String()
}

func (j *job) plays(player string) bool {
	for _, p := range j.people {
		if p.name == player {
			return true
		}
	}
	return false
}
