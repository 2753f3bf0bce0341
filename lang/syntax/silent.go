package syntax

// silent says whether the line means nothing and nothing is wrong with it: it is
// blank, or a comment.
func (l *Line) silent() bool { return l.Form == nil && !l.Broken && len(l.Problems) == 0 }

// saysAs says whether two lines say the same and differ at the most in their
// comments and the blanks behind what they say.
func (l *Line) saysAs(o *Line) bool {
	return l == o || l.Form == o.Form && !l.Broken && !o.Broken && len(l.Problems)+len(o.Problems) == 0 && l.Code() == o.Code()
}

// Moved says where the lines of an earlier text stand in one that says the same:
// that differs from it only in comments, in blank lines and in blanks behind what
// lines say. Lines that say nothing are at -1, but for the first of the file where
// it is still the first. It is not ok where the text says anything else.
func (f *File) Moved(old *File) (to []int32, ok bool) {
	if f.Refused || old.Refused || len(f.Problems)+len(old.Problems)+len(f.Lost)+len(old.Lost) > 0 {
		return nil, false
	}
	if !f.saysAll(old, func(int, int) {}) {
		return nil, false // mostly, and then there is no need of a list
	}
	to = make([]int32, len(old.Lines))
	f.saysAll(old, func(i, n int) { to[i] = int32(n) })
	if f.Lines[0].silent() && old.Lines[0].silent() {
		to[0] = 0
	}
	return to, true
}

// saysAll says whether a file says what an earlier one says and no more, and where each
// line of that one is, or -1.
func (f *File) saysAll(old *File, is func(i, n int)) bool {
	n := 0
	for i, l := range old.Lines {
		if l.silent() {
			is(i, -1)
			continue
		}
		for n < len(f.Lines) && f.Lines[n].silent() {
			n++
		}
		if n == len(f.Lines) || !f.Lines[n].saysAs(l) {
			return false
		}
		is(i, n)
		n++
	}
	for ; n < len(f.Lines); n++ {
		if !f.Lines[n].silent() {
			return false
		}
	}
	return true
}
