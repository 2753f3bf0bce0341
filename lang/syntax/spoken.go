package syntax

import "strings"

// Bars as people say and write them: 1e&a, 1 & 2 &, R1 L2, flam 2, cresc., choke.
// What can mean one thing only is read as that; what may be several is asked.

// isGap says whether a byte parts the signs of a bar.
func isGap(c byte) bool { return isBlank(c) || c == ',' }

// spoken is how many letters stand behind a count that part it as it is said:
// e & a in that order, or t l.
func spoken(text string) int {
	n, last := 0, -1
	for n < len(text) {
		k := strings.IndexByte("e&a", text[n])
		if n == 0 && text[n] == 't' || n == 1 && last >= 10 && text[n] == 'l' {
			k = 10 + n
		}
		if k < 0 || k <= last || n > 0 && (k >= 10) != (last >= 10) {
			break
		}
		last = k
		n++
	}
	return n
}

// chain reads 1e&a: a stroke on the count and one on each part that is named.
// What stands behind it belongs to the last.
func (s *barScan) chain(from, size, n int, it Sign) {
	number := s.text[s.at : s.at+size]
	s.at += size
	s.count1(&it, number)
	it.at = s.span(from)
	s.signs = append(s.signs, it)
	for i := range n {
		part := Sign{Kind: StrokeSign}
		s.count1(&part, number+s.text[s.at:s.at+1])
		at := s.at
		s.at++
		if i == n-1 {
			s.struck(at, part)
			return
		}
		part.at = s.span(at)
		s.signs = append(s.signs, part)
	}
}

func (s *barScan) count1(it *Sign, text string) {
	c, _, bad := scanCount(text)
	if bad != "" {
		s.fault(RuleCount, s.at, s.at, asksBack, clip(text), bad)
	}
	it.count = short(c)
}

// lastStroke is the sign before, if it is a stroke of this bar.
func (s *barScan) lastStroke() *Sign {
	if n := len(s.signs); n > s.first && s.signs[n-1].Kind == StrokeSign {
		return &s.signs[n-1]
	}
	return nil
}

// rolls reads a roll's sign that stands apart from its count: 1 ~3, 1 ~ 3.
func (s *barScan) rolls() bool {
	last := s.lastStroke()
	if last == nil || last.Flags&(Roll|Short) != 0 {
		return false
	}
	at := s.at + 1
	for at < len(s.text) && isBlank(s.text[at]) {
		at++
	}
	if at >= len(s.text) || !isDigit(s.text[at]) {
		return false
	}
	s.at = at
	last.Flags |= Roll
	s.rollEnd(last)
	from := int(last.at.start) - s.base
	it := *last
	s.signs = s.signs[:len(s.signs)-1]
	s.struck(from, it)
	return true
}

// restWord reads a word that is a bar's rest.
func (s *barScan) restWord() bool {
	end := s.chunkEnd(s.at)
	if _, ok := said().rest.one(s.text[s.at:end]); !ok {
		return false
	}
	s.at = end
	return true
}

// glue parts 1&2&3& into its counts; it is nil for anything else.
func glue(text string) (list []string) {
	for text != "" {
		_, size := digits(text)
		if size == 0 || size < len(text) && text[size] != '&' {
			return nil
		}
		size = min(size+1, len(text))
		list, text = append(list, text[:size]), text[size:]
	}
	return list
}

// silent says whether a - that opens a bar is a count that nobody plays: - 2 - 4.
// One number behind it may be a rest of so many bars.
func (s *barScan) silent() bool {
	count, chunks := 0, 0
	for at := s.at; at < len(s.text) && s.text[at] != '|'; {
		if isGap(s.text[at]) {
			at++
			continue
		}
		end := s.chunkEnd(at)
		chunk := s.text[at:end]
		switch n, size := digits(chunk); {
		case chunk == "-" && chunks == count:
			count++
		case chunk == "-":
		case size == 0 || chunks == count && n != count+1:
			return false
		}
		chunks++
		at = end
	}
	return chunks > count && (count > 1 || chunks > 2)
}

// word reads a chunk that begins with no digit, behind which the scanner stands.
func (s *barScan) word(from int, word string) {
	t := said()
	if means, ok := t.dynamic.one(word); ok {
		s.loud(from, means)
		return
	}
	if means, ok := t.words.one(word); ok {
		s.print(from, means)
		return
	}
	if s.part(from) || s.before(from, word) || s.behind(word) {
		return
	}
	s.at = from + len(word)
	s.unknown(from, word)
}

// part reads e & a t l, and, +, trip, let: a part of the count before.
func (s *barScan) part(from int) bool {
	beat := int32(0)
	for i := len(s.signs) - 1; i >= s.first && beat == 0; i-- {
		if k := s.signs[i].Kind; k == StrokeSign || k == StopSign {
			beat = s.signs[i].count.beat
		}
	}
	if beat == 0 {
		return false
	}
	text := s.text[from:s.chunkEnd(from)]
	for _, w := range [...]struct {
		word string
		part byte
	}{{"and", '&'}, {"trip", 't'}, {"let", 'l'}, {"+", '&'}, {"e", 'e'}, {"&", '&'}, {"a", 'a'}, {"t", 't'}, {"l", 'l'}} {
		rest, ok := strings.CutPrefix(text, w.word)
		if !ok || rest != "" && strings.IndexByte("RL>.~x", rest[0]) < 0 {
			continue
		}
		it := Sign{Kind: StrokeSign}
		c, _, _ := scanCount("1" + string(w.part))
		c.Beat = int(beat)
		it.count = short(c)
		s.at = from + len(w.word)
		s.struck(from, it)
		return true
	}
	return false
}

// before reads what people write before a count and the notation behind it, or
// as a sign: R1, >1, flam 1, roll 1-3.
func (s *barScan) before(from int, word string) bool {
	it := Sign{Kind: StrokeSign}
	next := from + len(word)
	for next < len(s.text) && isBlank(s.text[next]) {
		next++
	}
	digit := func(at int) bool { return at < len(s.text) && isDigit(s.text[at]) }
	switch grace, ok := said().grace.one(word); {
	case ok && digit(next):
		it.Grace = uint8(len(grace))
		s.at = next
	case (word[0] == 'R' || word[0] == 'L') && digit(from+1):
		it.Hand = word[0]
		s.at = from + 1
	case word[0] == '>' && digit(from+1):
		it.Flags = Accent
		s.at = from + 1
	case word == "roll" && digit(next):
		end := s.chunkEnd(next)
		a, b, ok := strings.Cut(s.text[next:end], "-")
		if !ok {
			a, b, ok = strings.Cut(s.text[next:end], "~")
		}
		start, ok1 := ParseCount(a)
		stop, ok2 := ParseCount(b)
		if !ok || !ok1 || !ok2 {
			return false
		}
		s.at = end
		it.count, it.end = short(start), short(stop)
		it.Flags = Roll | HasEnd
		s.finish(from, it)
		return true
	default:
		return false
	}
	if n := len(s.signs); true {
		s.stroke(it)
		if len(s.signs) > n {
			at := &s.signs[n].at
			*at = shortly(s.base+from, at.span().End)
		}
	}
	return true
}

// behind reads what belongs to the strokes before it: choke, RLRL.
func (s *barScan) behind(word string) bool {
	switch lower(word) {
	case "choke", "choked", "damped", "(choke)":
		last := s.lastStroke()
		if last == nil || last.Flags&Short != 0 {
			return false
		}
		last.Flags |= Short
		last.at = shortly(int(last.at.start), s.base+s.at)
		return true
	}
	if len(word) < 2 || strings.Trim(word, "RL") != "" {
		return false
	}
	var strokes []*Sign
	for i := s.first; i < len(s.signs); i++ {
		if it := &s.signs[i]; it.Kind == StrokeSign {
			if it.Hand != 0 {
				return false
			}
			strokes = append(strokes, it)
		}
	}
	if len(strokes) != len(word) {
		return false
	}
	for i, it := range strokes {
		it.Hand = word[i]
	}
	return true
}

// unknown answers a word that says nothing here.
func (s *barScan) unknown(from int, word string) {
	end := from + len(word)
	neither := Tells(neitherCountNorDynamic, clip(word))
	dyn := strings.TrimRight(word, "<>")
	inner := strings.Trim(word, "()[]")
	switch {
	case dyn != word && isDynamic(dyn):
		sign := "cresc"
		if word[len(dyn)] == '>' {
			sign = "dim"
		}
		s.ask(from, end, neither, Reading{"and from there on", dyn + " " + sign})
	case strings.ContainsAny(word, "<>") && isDynamic(word[:max(0, strings.IndexAny(word, "<>"))]):
		i := strings.IndexAny(word, "<>")
		sign := "cresc"
		if word[i] == '>' {
			sign = "dim"
		}
		s.ask(from, end, neither, Reading{"with the other dynamic before the count where it is reached", word[:i] + " " + sign})
	case word == "//" || word == "./." || word == "/" || word == "∕":
		if len(s.signs) == s.first {
			s.ask(from, end, Tells(noSignButReadings, clip(word)), Reading{"the bar before again", "%"})
			return
		}
		s.fault(RuleSyntax, from, end, noSignHere, clip(word))
	case inner != word && inner != "" && isCount(inner):
		s.ask(from, end, Tells(bracketsSayNothing, clip(word)), Reading{"a soft stroke is written with its dynamic", "p " + inner})
	case lower(word) == "flam" || lower(word) == "drag" || lower(word) == "ruff":
		s.fault(RuleSyntax, from, end, wordWithoutCount, clip(word), lower(word), map[byte]string{'f': "'", 'd': "''", 'r': "'''"}[lower(word)[0]])
	case lower(word) == "roll" || lower(word) == "tr" || lower(word) == "trill" || lower(word) == "trem" || lower(word) == "trem.":
		s.fault(RuleSyntax, from, end, rollWithoutEnds, clip(word))
	case strings.Trim(word, "RL") == "":
		s.fault(RuleSyntax, from, end, stickingPerStroke, clip(word))
	case s.soOften(word):
		s.ask(from, end, neither, Reading{"the bar before, so often", "% " + word})
	case isWordy(word):
		s.ask(from, end, Tells(wordsStandInQuotes, clip(word)), Reading{"", Quote(word)})
	default:
		s.fault(RuleSyntax, from, end, strokesReadLike, clip(word))
	}
}

// soOften says whether a word that begins a bar, as x7, says how often, and there
// is something before it that can come again.
func (s *barScan) soOften(word string) bool {
	number, x := strings.CutPrefix(word, "x")
	n, size := digits(number)
	return x && size == len(number) && n > 1 && s.alone < 0 && len(s.signs) == s.first && len(s.bars.Cells) > 0
}

func isCount(text string) bool {
	_, ok := ParseCount(text)
	return ok
}

// isWordy says whether text is letters, as words to print are.
func isWordy(text string) bool {
	return isText(text) && !strings.ContainsAny(text, `"\`) && strings.IndexFunc(text, func(r rune) bool { return r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r >= 0xc0 }) >= 0
}

// glued answers what stands behind a count and cannot, from s.at to end.
func (s *barScan) glued(from, end int) {
	count, rest := s.text[from:s.at], s.text[s.at:end]
	plain := count
	if c, size, bad := scanCount(count); size != len(count) || bad != "" || c.Frac.Num() != 0 {
		plain = ""
	}
	whole := func(template string, readings ...Reading) {
		s.ask(from, end, Tells(template, clip(s.text[from:end])), readings...)
	}
	switch {
	case rest == "^":
		whole(writtenAsAccent, Reading{"", count + ">"})
	case strings.Trim(rest, "/") == "" || rest == "z" || rest == "tr":
		whole(rollWithoutEnd, Reading{"to the end of its bar", count + "~"})
	case strings.HasSuffix(count, "l") && (rest == "v" || rest == "v." || rest == ".v."):
		whole(strokeAndWords, Reading{"", strings.TrimSuffix(count, "l") + ` "l.v."`})
	case rest == "r" && strings.HasSuffix(count, "t"):
		whole(rollWithoutEnd, Reading{"to the end of its bar", strings.TrimSuffix(count, "t") + "~"})
	case lower(rest) == "lv" || lower(rest) == "l.v." || rest == "(l.v.)":
		whole(strokeAndWords, Reading{"", count + ` "l.v."`})
	case rest == "r" || rest == "RH" || rest == "H" && strings.HasSuffix(count, "R"):
		whole(isSticking, Reading{"", strings.TrimSuffix(count, "R") + "R"})
	case rest == "LH" || rest == "H" && strings.HasSuffix(count, "L"):
		whole(isSticking, Reading{"", strings.TrimSuffix(count, "L") + "L"})
	case len(rest) > 0 && rest[0] == '-' && plain != "" && isCount(rest[1:]):
		whole(mayBeTwoThings, fromTo(count, rest[1:])...)
	case saysItsNote(count, rest):
		whole(noteOfRollOnce, Reading{"", count})
	case strings.HasSuffix(count, ".") && rest == "5":
		whole(isNoCount, Reading{"halfway behind the count", strings.TrimSuffix(count, ".") + "&"})
	case strings.HasSuffix(count, "&") && len(glue(count+rest)) > 1:
		list := glue(count + rest)
		each := strings.Join(list, " ")
		whole(mayBeTwoThings, Reading{"only halfway", each}, Reading{"both", strings.ReplaceAll(each, "&", " &")})
	default:
		s.fault(RuleSyntax, s.at, end, cannotFollowCount, clip(rest), clip(count))
	}
}

// saysItsNote says whether what stands behind a roll is the note that it has
// already: 1:F2~4:F2.
func saysItsNote(roll, rest string) bool {
	_, note, hasNote := strings.Cut(roll, ":")
	note, _, isRoll := strings.Cut(note, "~")
	return hasNote && isRoll && rest == ":"+note
}

// fromTo are the readings of two counts with a hyphen between them: each whole
// count from one to the other, where they are that near, or a roll.
func fromTo(from, to string) []Reading {
	roll := Reading{"a roll", from + "~" + to}
	first, _ := ParseCount(from)
	last, _ := ParseCount(to)
	if last.Frac.Num() != 0 || last.Beat <= first.Beat || last.Beat-first.Beat >= 16 {
		return []Reading{roll}
	}
	var each strings.Builder
	for n := first.Beat; n <= last.Beat; n++ {
		if n > first.Beat {
			each.WriteByte(' ')
		}
		writeInt(&each, n)
	}
	return []Reading{{"strokes", each.String()}, roll}
}
