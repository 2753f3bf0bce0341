package check

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/handful/lang/beat"
	"example.org/handful/lang/score"
	"example.org/handful/lang/syntax"
)

// What is found is written here as "SEVERITY RULE PLAYER at 1 2 +3": the places
// of one finding in bars, and how many more there are of which the place is not
// known.
func parseFindings(t *testing.T, text string) []Finding {
	severities := map[string]Severity{"error": Error, "warning": Warning, "compromise": Compromise, "info": Info}
	var out []Finding
	for _, line := range strings.FieldsFunc(text, func(r rune) bool { return r == ';' }) {
		words := strings.Fields(line)
		require.GreaterOrEqual(t, len(words), 3, line)
		rule := RuleNamed(words[1])
		require.NotNil(t, rule, line)
		severity, ok := severities[words[0]]
		require.True(t, ok, line)
		f := Finding{Rule: rule, Severity: severity, Player: words[2], About: syntax.Tells("%s", words[1])}
		for _, w := range words[3:] {
			switch {
			case w == "at":
			case strings.HasPrefix(w, "+"):
				f.Times += int(w[1] - '0')
			case !f.HasPlace:
				f.HasPlace, f.At, f.Bar, f.Count = true, beat.R(int64(w[0]-'0'), 1), int(w[0]-'0'), "1"
			default:
				f.Times++
				f.more = append(f.more, beat.R(int64(w[0]-'0'), 1))
			}
		}
		out = append(out, f)
	}
	return out
}

func resultOf(list []Finding, refused int) *Result {
	r := &Result{Score: &score.Score{}, Findings: list}
	for range refused {
		r.Score.Coverage.Uncovered = append(r.Score.Coverage.Uncovered, score.Gap{Refused: true})
	}
	r.Score.Coverage.Uncovered = append(r.Score.Coverage.Uncovered, score.Gap{})
	return r
}

// A fix may bring nothing that is worse than what was at a place, and no more of
// it.
func TestWhatAFixMayBring(t *testing.T) {
	for _, c := range []struct {
		what, before, after string
		holds               bool
	}{
		{"nothing, where nothing was", "", "", true},
		{"what is no warning", "", "compromise compromise Ida at 1; info assumed-kit Ida", true},
		{"a warning, where nothing was", "", "warning too-fast Ida at 1", false},
		{"an error, where nothing was", "", "error too-fast Ida at 1", false},
		{"a warning, where something lighter was", "compromise compromise Ida at 1", "warning compromise Ida at 1", false},
		{"what was there", "error too-fast Ida at 1; warning too-fast Ida at 2", "error too-fast Ida at 1; warning too-fast Ida at 2", true},
		{"less than was there", "error too-fast Ida at 1; warning too-fast Ida at 2", "warning too-fast Ida at 2", true},
		{"a warning in the place of an error", "error too-fast Ida at 1", "warning too-fast Ida at 1", true},
		{"an error in the place of a warning", "warning too-fast Ida at 1", "error too-fast Ida at 1", false},
		{"the error at the warning's place", "error too-fast Ida at 1; warning too-fast Ida at 2", "error too-fast Ida at 2", false},
		{"the same in whatever order", "warning too-fast Ida at 2; error too-fast Ida at 1", "error too-fast Ida at 1", true},
		{"the worst of a place counts", "warning too-fast Ida at 1; error too-fast Ida at 1", "error too-fast Ida at 1", true},
		{"the worst of a place counts, told first", "error too-fast Ida at 1; warning too-fast Ida at 1", "error too-fast Ida at 1", true},
		{"two in the place of one", "error too-fast Ida at 1", "error too-fast Ida at 1; warning too-fast Ida at 1", false},
		{"two errors, where one was an error", "error too-fast Ida at 1; warning too-fast Ida at 2", "error too-fast Ida at 1; error too-fast Ida at 2", false},
		{"the same at another place", "error too-fast Ida at 1", "warning too-fast Ida at 2", false},
		{"the same for somebody else", "error too-fast Ida at 1", "warning too-fast Per at 1", false},
		{"something else at the place", "error too-fast Ida at 1", "warning ring-over Ida at 1", false},
		{"a seam, where a change was too short", "error short-change Ida at 1", "warning seam Ida at 1", true},
		{"a thin margin, where a vamp was too short", "error vamp-exit Ida at 1", "warning thin-margin Ida at 1", true},
		{"a change in the place of another's", "error short-change Ida at 1", "warning fermata-as-time Per at 1", false},
		{"one of several places", "error too-fast Ida at 1 2 3", "warning too-fast Ida at 2", true},
		{"several of several places", "error too-fast Ida at 1 2 3", "error too-fast Ida at 3 1", true},
		{"one place more", "error too-fast Ida at 1 2 3", "error too-fast Ida at 1 2 3; warning too-fast Ida at 1", false},
		{"a place that was not among them", "error too-fast Ida at 1 2 3", "error too-fast Ida at 1 4", false},
		{"fewer, of which not all places are known", "error too-fast Ida at 1 +2", "error too-fast Ida at 5 +1", true},
		{"as many, of which not all places are known", "error too-fast Ida at 1 +2", "warning too-fast Ida at 5 +2", true},
		{"more, of which not all places are known", "error too-fast Ida at 1 +2", "warning too-fast Ida at 1 +3", false},
		{"more errors among as many", "error too-fast Ida at 1; warning too-fast Ida at 2 +2", "error too-fast Ida at 1 +1", false},
		{"two, where one was and something lighter beside it", "compromise too-fast Ida at 1; error too-fast Ida at 2", "warning too-fast Ida at 2; warning too-fast Ida at 2", false},
		{"what has no place, again", "warning cannot-or-never Ida", "warning cannot-or-never Ida", true},
		{"what has no place, twice", "warning cannot-or-never Ida", "warning cannot-or-never Ida; warning cannot-or-never Ida", false},
	} {
		before, after := resultOf(parseFindings(t, c.before), 0), resultOf(parseFindings(t, c.after), 0)
		assert.Equal(t, c.holds, before.holds(after, false), c.what)
	}
}

// A line that could not be read hides what is to be found in it: to read it is
// worth its warnings, what it left uncovered, and errors of sorts that were
// there; but none of another sort.
func TestWhatReadingALineMayBring(t *testing.T) {
	for _, c := range []struct {
		what, before, after string
		refused             int
		holds               bool
	}{
		{"warnings", "error unknown-name -", "warning too-fast Ida at 1; warning compromise Ida at 2", 0, true},
		{"an error", "error unknown-name -", "error too-fast Ida at 1", 0, false},
		{"an error of a sort that was there, elsewhere", "error unknown-name -; error too-fast Ida at 1", "error too-fast Ida at 2", 0, true},
		{"one more of them", "error unknown-name -; error too-fast Ida at 1", "error too-fast Ida at 1; error too-fast Ida at 2", 0, false},
		{"what the line leaves uncovered", "error unknown-name -", "error uncovered - at 1", 1, true},
		{"what two lines leave uncovered", "error unknown-name -", "error uncovered - at 1; error uncovered - at 2", 2, true},
		{"more than it leaves uncovered", "error unknown-name -", "error uncovered - at 1; error uncovered - at 2", 1, false},
		{"what is uncovered where no line was refused", "error unknown-name -", "error uncovered - at 1", 0, false},
		{"something else than uncovered", "error unknown-name -", "error too-fast - at 1", 1, false},
	} {
		before, after := resultOf(parseFindings(t, c.before), c.refused), resultOf(parseFindings(t, c.after), 0)
		assert.Equal(t, c.holds, before.holds(after, true), c.what)
	}
	before, after := resultOf(nil, 1), resultOf(parseFindings(t, "error uncovered - at 1"), 0)
	assert.False(t, before.holds(after, false), "where nothing is read that was not, nothing was hidden")
}

// A fix is one only if its finding, the first of those before, is gone.
func TestWhenAFindingIsGone(t *testing.T) {
	for _, c := range []struct {
		what, before, after string
		gone                bool
	}{
		{"it is gone", "error too-fast Ida at 1", "", true},
		{"it is there", "error too-fast Ida at 1", "error too-fast Ida at 1", false},
		{"one like it is gone, and it is there", "error too-fast Ida at 1; error too-fast Ida at 2", "error too-fast Ida at 1", false},
		{"it is gone, and one like it is there", "error too-fast Ida at 1; error too-fast Ida at 2", "error too-fast Ida at 2", true},
		{"it is a warning now", "error too-fast Ida at 1", "warning too-fast Ida at 1", true},
		{"fewer places than it had, at the head another one", "error too-fast Ida at 1 2 3", "error too-fast Ida at 2 3", true},
		{"fewer places, and it is among them", "error too-fast Ida at 1 2 3", "error too-fast Ida at 2 1", true},
		{"as many places, told from another one", "error too-fast Ida at 1 2", "error too-fast Ida at 2 1", false},
		{"as many places, and it is not among them", "error too-fast Ida at 1; error too-fast Ida at 2; warning too-fast Ida at 3", "error too-fast Ida at 2", true},
		{"what has no place is there", "warning cannot-or-never Ida", "warning cannot-or-never Ida", false},
		{"one of two without a place", "warning cannot-or-never Ida; warning cannot-or-never Ida", "warning cannot-or-never Ida", true},
		{"it is gone, and something else has come", "error too-fast Ida at 1", "error ring-over Ida at 1", false},
	} {
		before, after := resultOf(parseFindings(t, c.before), 0), resultOf(parseFindings(t, c.after), 0)
		assert.Equal(t, c.gone, before.better(after, &before.Findings[0]), c.what)
	}
	// It is another one if another limb has it, or if something else is said of it.
	for what, change := range map[string]func(*Finding){
		"the limb":    func(f *Finding) { f.Limb = "left hand" },
		"the message": func(f *Finding) { f.About = syntax.Tells("something else") },
		"the count":   func(f *Finding) { f.Count = "2" },
		"the bar":     func(f *Finding) { f.Bar = 2 },
		"no place":    func(f *Finding) { f.HasPlace = false },
	} {
		before, after := resultOf(parseFindings(t, "error too-fast Ida at 1; error too-fast Ida at 1"), 0), resultOf(parseFindings(t, "error too-fast Ida at 1"), 0)
		assert.False(t, before.better(after, &before.Findings[0]), "it is the same")
		change(&after.Findings[0])
		assert.True(t, before.better(after, &before.Findings[0]), what)
	}
}

// Of very many proposals the first are tried, and the last, which is to accept
// the finding; and none that changes nothing, that cannot be made, or that
// would lose a comment.
func TestWhichProposalsAreTried(t *testing.T) {
	const text = "tempo 96\nplayer Ida\n  R snare-drmu | 1 2 # soft\n"
	offered := func(n int, at ...int) (tried []string) {
		r := checkText(text)
		f := *found(r, unknownNameRule)[0]
		f.proposals, f.later = nil, nil
		mend := replace(f.Where, "snare-drum")
		for i := range n {
			edit := replace(f.Where, "drmu-snare")
			for _, a := range at {
				if a == i {
					edit = mend
				}
			}
			f.propose(strings.Repeat("i", i+1), false, edit)
		}
		for _, fix := range r.Fixes(&f) {
			tried = append(tried, fix.Title)
		}
		return tried
	}
	i := func(n int) string { return strings.Repeat("i", n) }
	assert.Equal(t, []string{i(1), i(3)}, offered(3, 0, 2))
	assert.Equal(t, []string{i(11), i(12)}, offered(12, 10, 11), "a dozen of them")
	assert.Equal(t, []string{i(11), i(12)}, offered(13, 10, 11, 12), "of more the first dozen")

	r := checkText(text)
	f := *found(r, unknownNameRule)[0]
	f.proposals, f.later = nil, nil
	line := int(f.Where.Line)
	f.propose("nothing", false, Edit{Line: line, Start: 2, End: 2})
	f.propose("beyond the line", false, Edit{Line: line, Start: 0, End: 999, Text: "R snare-drum | 1"})
	f.propose("without its comment", false, Edit{Line: line, Start: 0, End: len(r.File.Lines[line].Text), Text: "  R snare-drum | 1 2"})
	f.propose("with its comment", true, replace(f.Where, "snare-drum"))
	fixes := r.Fixes(&f)
	require.Len(t, fixes, 1)
	assert.Equal(t, "with its comment", fixes[0].Title)
	assert.Empty(t, r.SureFixes(&f), "that is somebody's to weigh")
	assert.Empty(t, r.Until(func() bool { return true }).Fixes(&f), "whoever stops gets no answer")
}

// Fixes that need nobody's judgement are made one after the other, each on
// what the one before has left, until none is left.
func TestFixesOneAfterTheOther(t *testing.T) {
	r := checkText("tempo 96\nplayer Ida\n  R snare-drmu | 1 2\n  L wodblock clamped | 1 2\n  RF bass-drum | 1 | 1\naccept seam because \"was so once\"\n")
	text, made := r.FixAll()
	assert.Equal(t, 3, made)
	assert.Equal(t, "tempo 96\nplayer Ida\n  R snare-drum | 1 2\n  L woodblock clamped | 1 2\n  RF bass-drum | 1 | 1\n", text)
	again, made := checkText(text).FixAll()
	assert.Zero(t, made)
	assert.Equal(t, text, again)

	stopped := *r
	stopped.Stopped = true
	again, made = stopped.FixAll()
	assert.Zero(t, made)
	assert.Equal(t, r.File.Text(), again)
}

// Edits touch one another and the ends of lines and file, and keep the way in
// which the file ends its lines.
func TestWhereEditsMayStand(t *testing.T) {
	for _, c := range []struct {
		what, text, want string
		edits            []Edit
	}{
		{"nothing", "one\ntwo", "one\ntwo", nil},
		{"the whole of a line's words", "one\ntwo\n", "eins\ntwo\n", []Edit{{Line: 0, Start: 0, End: 3, Text: "eins"}}},
		{"two that touch", "one\ntwo\n", "ab\ntwo\n", []Edit{{Line: 0, Start: 0, End: 1, Text: "a"}, {Line: 0, Start: 1, End: 3, Text: "b"}}},
		{"in whatever order", "one\ntwo\n", "ab\ntwo\n", []Edit{{Line: 0, Start: 1, End: 3, Text: "b"}, {Line: 0, Start: 0, End: 1, Text: "a"}}},
		{"two at one place, as they come", "one\ntwo\n", "oneab\ntwo\n", []Edit{{Line: 0, Start: 3, End: 3, Text: "a"}, {Line: 0, Start: 3, End: 3, Text: "b"}}},
		{"behind the last line end", "one\n", "one\ntwo\n", []Edit{{Line: 1, Text: "two\n"}}},
		{"a line in the middle is taken out", "one\ntwo\nthree\n", "one\nthree\n", []Edit{{Line: 1, Whole: true}}},
		{"the last line is taken out, with no line end behind it", "one\ntwo", "one\n", []Edit{{Line: 1, Whole: true}}},
		{"a line is taken out and another put there", "one\ntwo\nthree\n", "one\n2\nthree\n", []Edit{{Line: 1, Whole: true, Text: "2\n"}}},
		{"two lines one after the other", "one\ntwo\nthree\n", "three\n", []Edit{{Line: 0, Whole: true}, {Line: 1, Whole: true}}},
		{"other line ends", "one\r\ntwo\r\n", "one\r\nx\r\ntwo\r\n", []Edit{{Line: 0, Start: 3, End: 3, Text: "\nx"}}},
	} {
		text, ok := Apply(syntax.Parse(c.text), c.edits)
		assert.True(t, ok, c.what)
		assert.Equal(t, c.want, text, c.what)
	}
	f := syntax.Parse("one\ntwo")
	for what, bad := range map[string][]Edit{
		"a byte too far":        {{Line: 1, Start: 0, End: 4}},
		"from before the line":  {{Line: 0, Start: -1, End: 2}},
		"two lines too far":     {{Line: 3, Text: "x"}},
		"in a line taken out":   {{Line: 0, Whole: true}, {Line: 0, Start: 1, End: 2, Text: "x"}},
		"one of two is no good": {{Line: 0, Start: 0, End: 1, Text: "x"}, {Line: 0, Start: 2, End: 1}},
	} {
		_, ok := Apply(f, bad)
		assert.False(t, ok, what)
	}
}

// A line that is added to the end of the file is a line of its own.
func TestALineAtTheEnd(t *testing.T) {
	for text, want := range map[string]string{
		"":                "seated\n",
		"tempo 96\n":      "tempo 96\nseated\n",
		"tempo 96":        "tempo 96\nseated\n",
		"tempo 96\n\n":    "tempo 96\n\nseated\n",
		"tempo 96\r\n":    "tempo 96\r\nseated\r\n",
		"\n":              "\nseated\n",
		"tempo 96\n# end": "tempo 96\n# end\nseated\n",
	} {
		c := &Context{Result: checkText(text)}
		got, ok := Apply(c.File, []Edit{c.atEnd(&syntax.Seated{Word: syntax.Word("seated")})})
		assert.True(t, ok, "%q", text)
		assert.Equal(t, want, got)
	}
}

// Findings of a rule are counted by their places.
func TestFindingsAreCountedByPlaces(t *testing.T) {
	r := resultOf(parseFindings(t, "error too-fast Ida at 1 2 3; error too-fast Per at 1; warning too-fast Ida at 1 2; error seam Ida at 1"), 0)
	assert.Equal(t, 4, r.Count(RuleNamed("too-fast"), Error))
	assert.Equal(t, 2, r.Count(RuleNamed("too-fast"), Warning))
	assert.Equal(t, 1, r.Count(RuleNamed("seam"), Error))
	assert.Zero(t, r.Count(RuleNamed("seam"), Warning))
}
