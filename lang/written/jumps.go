package written

import (
	"slices"
	"strconv"
	"strings"

	"example.org/handful/lang/beat"
)

// jumps are the signs that say in which order bars are played, with what else
// has to wait until the bars are known.
type jumps struct {
	repeats  []beat.Repeat
	endings  []beat.Ending
	open     []int // forward repeats that no backward one has met
	segno    *int
	coda     *int
	toCoda   *int
	fine     *int
	back     *int // the bar after which it goes back
	toSegno  bool // … to the segno, not to the beginning
	toFine   bool // … and from there to a Fine
	overCoda bool // … or on to a coda
	tempos   []tempoAt
	marks    []Mark
	holds    []held
	breaks   []place
	codas    []place           // coda signs, of the first part in order
	seen     map[string]bool   // repeat signs of the first part, and what another lacked of them
	lose     func(what string) // lists what holds nothing, in the present bar
	endStart int
	often    int // the bar of a repeat of more than 99 times, from 1, or 0
	endNums  []int
}

// A held is a fermata, with how long what it stands on lasts.
type held struct {
	place
	length beat.Rat
}

// mark notes the bar of a sign. Signs are for everybody, whichever part has
// them; the first of a kind holds.
func (j *jumps) mark(sign **int, bar int, name string) {
	switch {
	case *sign == nil:
		*sign = &bar
	case **sign != bar:
		j.lose("a second " + name + ": the first one holds")
	}
}

// codaAt notes a coda sign, once a bar.
func (j *jumps) codaAt(at place) {
	if !slices.ContainsFunc(j.codas, func(o place) bool { return o.bar == at.bar }) {
		j.codas = append(j.codas, at)
	}
}

// said reads what words say of the order of bars, and whether they do: D.C. al
// Fine, Dal Segno, To Coda. A jump comes at the end of the bar in which its
// words stand; To Coda at the beginning of a bar comes before it.
func (j *jumps) said(low string, at place) bool {
	word := strings.NewReplacer(".", "", " ", "", "\u00a0", "").Replace(low)
	bar := at.bar
	switch {
	case word == "fine":
		j.mark(&j.fine, bar, "Fine")
	case word == "tocoda", word == "alcoda":
		j.leave(at)
	case word == "coda":
		j.mark(&j.coda, bar, "coda")
	case word == "segno":
		j.mark(&j.segno, bar, "segno")
	case word == "dc", word == "dacapo", strings.HasPrefix(word, "dcal"), strings.HasPrefix(word, "dacapoal"):
		j.goBack(bar, false)
	case word == "ds", word == "dalsegno", strings.HasPrefix(word, "dsal"), strings.HasPrefix(word, "dalsegnoal"):
		j.goBack(bar, true)
	default:
		return false
	}
	j.toFine = j.toFine || strings.HasSuffix(word, "alfine")
	j.overCoda = j.overCoda || strings.HasSuffix(word, "alcoda") && word != "alcoda"
	return true
}

// goBack notes where it goes back; the first that says so holds.
func (j *jumps) goBack(bar int, toSegno bool) {
	switch {
	case j.back == nil:
		j.back, j.toSegno = &bar, toSegno
	case *j.back != bar || j.toSegno != toSegno:
		j.lose("a second way back, to the beginning or a sign: the first one holds")
	}
}

// leave notes where it goes on to the coda.
func (j *jumps) leave(at place) {
	bar := at.bar
	if at.off.Sign() == 0 && bar > 0 {
		bar--
	}
	j.leaveAfter(bar)
}

// leaveAfter notes the bar after which it goes on to the coda. Words and what
// is played back may say the same of one bar line from either side.
func (j *jumps) leaveAfter(bar int) {
	if j.toCoda == nil || bar < *j.toCoda-1 || bar > *j.toCoda+1 {
		j.mark(&j.toCoda, bar, "To Coda")
	}
}

// codaSigns gives the coda signs their meaning: of two, the first is where it
// is left for the second.
func (j *jumps) codaSigns() {
	slices.SortStableFunc(j.codas, func(a, b place) int { return a.bar - b.bar })
	if n := len(j.codas); n > 0 {
		if n > 1 && j.toCoda == nil {
			j.leave(j.codas[0])
		}
		if j.coda == nil {
			j.coda = &j.codas[n-1].bar
		}
	}
}

// elsewhere says whether a sign stands in a later part than the first, whose
// signs are everybody's; one that the first does not have is listed.
func (j *jumps) elsewhere(name, kind string, bar int, taken bool) bool {
	key := name + kind + strconv.Itoa(bar)
	if taken && !j.seen[key] {
		j.lose(name + " that the first part does not have")
	}
	if j.seen == nil {
		j.seen = map[string]bool{}
	}
	j.seen[key] = true
	return taken
}

func (j *jumps) repeat(bar int, direction string, times int, taken bool) {
	if j.elsewhere("a repeat", direction, bar, taken) {
		return
	}
	switch direction {
	case "forward":
		j.open = append(j.open, bar)
	case "backward":
		from, again := j.behindEndings(bar)
		if again {
			return
		}
		if n := len(j.open); n > 0 {
			from, j.open = j.open[n-1], j.open[:n-1]
		}
		if times > 99 {
			j.often = bar + 1
		}
		if from <= bar && len(j.repeats) < 2000 {
			j.repeats = append(j.repeats, beat.Repeat{From: from, To: bar, Times: max(2, min(times, 99))})
		}
	}
}

// behindEndings is where a repeat goes back to that has no sign where it begins:
// behind the repeat before it, with its endings. A second ending belongs to
// that, with a way back at its own end if a third one follows.
func (j *jumps) behindEndings(bar int) (from int, again bool) {
	n := len(j.repeats)
	if n == 0 {
		return 0, false
	}
	last := &j.repeats[n-1]
	from = last.To + 1
	for _, e := range j.endingsUntil(bar) {
		if e.From != from || slices.Max(e.Numbers) < 2 {
			continue
		}
		if from = e.To + 1; e.To == bar && len(j.open) == 0 {
			last.To, last.Times = bar, max(last.Times, slices.Max(e.Numbers)+1)
			return from, true
		}
	}
	return from, false
}

// endingsUntil are the endings so far in order, with one that is open as far as
// the present bar.
func (j *jumps) endingsUntil(bar int) []beat.Ending {
	if j.endNums == nil {
		return j.endings
	}
	return append(j.endings[:len(j.endings):len(j.endings)], beat.Ending{Numbers: j.endNums, From: j.endStart, To: bar})
}

func (j *jumps) ending(bar int, kind, numbers string, taken bool) {
	if j.elsewhere("an ending", kind, bar, taken) {
		return
	}
	switch kind {
	case "start":
		j.endStart, j.endNums = bar, nil
		for _, f := range strings.FieldsFunc(numbers, func(r rune) bool { return r < '0' || r > '9' }) {
			if n, err := strconv.Atoi(f); err == nil && n > 0 && n < 100 && len(j.endNums) < 20 {
				j.endNums = append(j.endNums, n)
			}
		}
		if j.endNums == nil {
			j.endNums = []int{1}
		}
	case "stop", "discontinue":
		if j.endNums != nil && bar >= j.endStart && len(j.endings) < 2000 {
			j.endings = append(j.endings, beat.Ending{Numbers: j.endNums, From: j.endStart, To: bar})
		}
		j.endNums = nil
	}
}

// road gives the work its order: signs for repeats, and where the music goes
// back to the beginning or a sign, the whole way spelled out. first is the
// number of the file's first bar.
func (j *jumps) road(w *Work, first int) {
	for i := range j.repeats {
		j.repeats[i].From += first
		j.repeats[i].To += first
	}
	for i := range j.endings {
		j.endings[i].From += first
		j.endings[i].To += first
	}
	w.Repeats, w.Endings = j.repeats, j.endings
	if j.often > 0 {
		w.lose(Loss{Bar: j.often - 1 + first, What: "a repeat of more than 99 times: 99 are kept"})
	}
	for _, bar := range j.open {
		w.lose(Loss{Bar: bar + first, What: "a repeat that begins and does not end"})
	}
	if j.endNums != nil {
		w.lose(Loss{Bar: j.endStart + first, What: "an ending that begins and does not end"})
	}
	j.codaSigns()
	j.unused(w, first)
	if j.back == nil {
		return
	}
	if j.toSegno && j.segno == nil {
		w.lose(Loss{Bar: *j.back + first, What: "back to a sign that stands nowhere: taken from the beginning"})
	}
	back := *j.back + first
	legs := append(j.untilBack(w, first, back), j.afterBack(w, first, back)...)
	if len(legs) > 0 && len(legs) <= 500 {
		w.Order, w.Repeats, w.Endings = legs, nil, nil
		return
	}
	w.lose(Loss{Bar: back, What: "the way back to the beginning or the sign: there are more legs than an order has"})
}

// unused lists the signs that the way through the bars does not come by.
func (j *jumps) unused(w *Work, first int) {
	lose := func(bar *int, what string) {
		if bar != nil {
			w.lose(Loss{Bar: *bar + first, What: what})
		}
	}
	toCoda := j.back != nil && j.toCoda != nil && j.coda != nil
	if j.back == nil || !j.toSegno {
		lose(j.segno, "a segno to which nothing goes back")
	}
	if j.back == nil || toCoda {
		lose(j.fine, "a Fine to which nothing goes back")
	}
	if j.toFine && j.fine == nil && !toCoda {
		lose(j.back, "back to a Fine that stands nowhere: it is played to the end")
	}
	if j.overCoda && j.coda == nil {
		lose(j.back, "back to a coda that stands nowhere: it is played to the end")
	}
	if !toCoda {
		lose(j.toCoda, "To Coda, and nothing that goes there")
		lose(j.coda, "a coda to which nothing goes")
	}
	for i, c := range j.codas {
		if i > 0 && i < len(j.codas)-1 {
			lose(&c.bar, "a coda sign between two others")
		}
	}
}

// untilBack is the way from the first bar to the one after which it goes back,
// with its repeats.
func (j *jumps) untilBack(w *Work, first, back int) (legs []beat.Leg) {
	repeats := slices.DeleteFunc(slices.Clone(w.Repeats), func(r beat.Repeat) bool { return r.To > back })
	endings := slices.DeleteFunc(slices.Clone(w.Endings), func(e beat.Ending) bool { return e.To > back })
	road, _ := beat.Unroll(first, back, repeats, endings, nil, nil, beat.MaxPlayedBars)
	for _, s := range road.Spans {
		legs = append(legs, beat.Leg{From: s.From, To: s.To})
	}
	return legs
}

// afterBack is the way from where it goes back to, by the coda or to the Fine,
// to the end.
func (j *jumps) afterBack(w *Work, first, back int) []beat.Leg {
	again := first
	if j.toSegno && j.segno != nil {
		again = *j.segno + first
	}
	switch {
	case j.toCoda != nil && j.coda != nil:
		return append(secondTime(w.Endings, again, *j.toCoda+first), secondTime(w.Endings, *j.coda+first, w.Last)...)
	case j.fine != nil:
		return secondTime(w.Endings, again, *j.fine+first)
	}
	return append(secondTime(w.Endings, again, back), secondTime(w.Endings, back+1, w.Last)...)
}

// secondTime is the way through bars for the second time, when repeats are not
// taken, and last endings are.
func secondTime(endings []beat.Ending, from, to int) (legs []beat.Leg) {
	for from <= to {
		stop, next := to, to+1
		for _, e := range endings {
			if e.From >= from && e.From <= stop && !lastEnding(endings, e) {
				stop, next = e.From-1, e.To+1
			}
		}
		if from <= stop {
			legs = append(legs, beat.Leg{From: from, To: stop})
		}
		from = next
	}
	return legs
}

// lastEnding says whether no other ending follows upon one.
func lastEnding(all []beat.Ending, e beat.Ending) bool {
	return !slices.ContainsFunc(all, func(o beat.Ending) bool { return o.From == e.To+1 })
}
