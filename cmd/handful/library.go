package main

import (
	"cmp"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"maps"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	_ "embed"

	"example.org/handful/internal/folder"
	"example.org/handful/lang/check"
	"example.org/handful/lang/score"
	"example.org/handful/lang/sheet"
	"example.org/handful/lang/words"
)

type libraryVerb struct {
	Paths   []string `arg:"" optional:"" name:"path" help:"Files and folders, as for check. Without one, this folder."`
	Format  string   `enum:"text,json,html,csv" default:"text" placeholder:"text|json|html|csv" help:"text for people; html as one page; json for programs; csv is who plays in which number."`
	Without []string `sep:"none" placeholder:"NAME" help:"Only what happens without this player, instrument, beater or stand. May be given again."`
	Out     string   `short:"o" placeholder:"FILE" help:"Where to write it; standard output without."`
	Force   bool     `help:"Write over a file that is there."`
}

func (v *libraryVerb) Help() string {
	return `Which numbers of a library stand or fall with whom and with what, how tight each is, what all of them together need at the most, and which files nobody uses.

  handful library season/                     the report
  handful library season/ --without Nell      what happens when Nell is ill
  handful library . --without "tam-tam"       … or when the tam-tam is at the maker's
  handful library . --format csv -o who.csv   people and numbers as a table

A number falls with a player when without her something is played by nobody, or cannot be done; with a thing when it takes one.`
}

// A libraryNumber is one piece of the library. Seconds are seconds; a factor is of
// the written tempo.
type libraryNumber struct {
	File     string   `json:"file"`
	Title    string   `json:"title,omitempty"`
	Players  []person `json:"players"`
	Bars     int      `json:"bars"`
	Errors   int      `json:"errors"`
	Warnings int      `json:"warnings"`
	// Ceiling is how fast it can go, and what sets that; 0 is at no tempo, null
	// where nothing limits it.
	Ceiling *float64 `json:"ceiling"`
	Limit   string   `json:"limit,omitempty"`
	Change  string   `json:"tightest change,omitempty"`
	Spare   *float64 `json:"seconds to spare,omitempty"`
	Needs   []need   `json:"needs"`
	gone    bool
	uses    []string
	pieces  bool // it has bars that somebody plays
}

type person struct {
	Name    string `json:"name"`
	Strokes int    `json:"strokes"`
	// Lost are the strokes that nobody plays without her, and Errors what cannot
	// be done then.
	Lost   int `json:"lost without"`
	Errors int `json:"errors without"`
}

type need struct {
	Kind string   `json:"kind"`
	Name string   `json:"name"`
	N    int      `json:"count"`
	Who  []string `json:"players"`
	Gear *int     `json:"gear,omitempty"`
}

// A season is what all numbers together say.
type season struct {
	Numbers []*libraryNumber `json:"numbers"`
	People  []part           `json:"people"`
	Most    []most           `json:"most at once"`
	Unused  []string         `json:"unused files"`
}

// A part is what one player is to the season: in how many numbers she plays, and
// how many of them fall without her.
type part struct {
	Name    string `json:"name"`
	Numbers int    `json:"numbers"`
	Fall    int    `json:"fall without"`
	Strokes int    `json:"strokes"`
}

// most is how much of a thing the number that needs most of it takes.
type most struct {
	Kind    string   `json:"kind"`
	Name    string   `json:"name"`
	N       int      `json:"count"`
	Gear    *int     `json:"gear,omitempty"`
	Numbers []string `json:"numbers"` // that take one
}

func (v *libraryVerb) Run(s *streams) error {
	inputs, failed := gatherChosen(v.Paths, folder.Choice{Root: workingFolder()}, s)
	all, err := seasonOf(s, inputs)
	if err != nil {
		return err
	}
	for _, n := range all.Numbers {
		failed = failed || n.gone
	}
	if err := v.everythingIsThere(all); err != nil {
		return err
	}
	var b strings.Builder
	switch v.Format {
	case "json":
		text, err := json.MarshalIndent(all, "", "  ")
		if err != nil {
			return err
		}
		b.Write(seenJSON(append(text, '\n')))
	case "csv":
		err = all.table(&b)
	case "html":
		err = libraryPage().Execute(&b, all)
	default:
		if len(v.Without) > 0 {
			all.without(&b, v.Without)
		} else {
			all.text(&b)
		}
	}
	if err != nil {
		return err
	}
	if err := v.put(s, b.String()); err != nil {
		return err
	}
	if failed || s.badSettings {
		return exitCode(exitFailed)
	}
	return nil
}

func (v *libraryVerb) put(s *streams, text string) error {
	if v.Out == "" {
		to := io.Writer(s.out)
		if v.Format != "text" {
			to = s.data()
		}
		_, err := io.WriteString(to, text)
		return err
	}
	place, err := newPlace(s, v.Out, v.Force)
	if err != nil {
		return err
	}
	return place.Write([]byte(text))
}

// everythingIsThere says which names of --without nothing has.
func (v *libraryVerb) everythingIsThere(all *season) error {
	for _, name := range v.Without {
		found := false
		for _, n := range all.Numbers {
			found = found || n.fallsWith(name) != ""
			for _, p := range n.Players {
				found = found || p.Name == name
			}
		}
		if !found {
			return fmt.Errorf("--without %q: nobody and nothing in what was read is called so", name)
		}
	}
	return nil
}

// seasonOf checks every piece, several at once, and again without each of its
// players.
func seasonOf(s *streams, inputs []input) (*season, error) {
	numbers := make([]*libraryNumber, len(inputs))
	lib := folder.NewLibrary()
	todo := make(chan int, len(inputs))
	for i := range inputs {
		todo <- i
	}
	close(todo)
	var workers sync.WaitGroup
	var say sync.Mutex
	for range min(runtime.GOMAXPROCS(0), len(inputs)) {
		workers.Go(func() {
			for i := range todo {
				if s.interrupted() {
					continue
				}
				var n *libraryNumber
				if fault := check.Contained(func() { n = numberOf(&inputs[i], lib, stopped(s.ctx)) }); fault != nil {
					say.Lock()
					s.failed(inputs[i].path, fault)
					say.Unlock()
					n = &libraryNumber{File: inputs[i].path, gone: true}
				}
				numbers[i] = n
			}
		})
	}
	workers.Wait()
	if s.interrupted() {
		return nil, unfinished{"not every number was checked, and nothing is answered"}
	}
	return gathered(inputs, numbers), nil
}

func numberOf(in *input, lib *folder.Library, stop func() bool) *libraryNumber {
	opt := in.checks(score.Options{}, lib)
	opt.Stop = stop
	r := checkSafely(*in, opt)
	n := &libraryNumber{File: filepath.ToSlash(in.path), Title: r.Score.Title, Bars: r.Score.Grid.Last(), Players: []person{}, Needs: []need{}}
	if n.gone = len(r.Faults) > 0; n.gone {
		return n
	}
	n.Errors, n.Warnings = tally(r, check.Error), tally(r, check.Warning)
	for _, src := range r.Score.Sources[1:] {
		n.uses = append(n.uses, filepath.Join(in.root, filepath.FromSlash(src.Name)))
	}
	n.pieces = len(r.Score.Players) > 0 || r.Score.Coverage.Written > 0
	for _, c := range r.Ceilings() {
		if f := c.Cannot.Factor; !c.Cannot.None() && (n.Ceiling == nil || f < *n.Ceiling) {
			n.Ceiling, n.Limit = &f, c.Player+": "+c.Cannot.Words
		}
	}
	if words, spare, ok := sheet.Tightest(r); ok {
		n.Change, n.Spare = words, &spare
	}
	for _, x := range sheet.Needs(r) {
		one := need{Kind: x.Kind, Name: x.Name, N: x.N, Who: x.Who}
		if x.Gear >= 0 {
			one.Gear = &x.Gear
		}
		n.Needs = append(n.Needs, one)
	}
	for _, p := range r.Score.Players {
		n.Players = append(n.Players, absent(in, r, p, opt))
	}
	return n
}

// absent is what a player is to a piece: what happens without her.
func absent(in *input, r *check.Result, p *score.Player, opt check.Options) person {
	who := person{Name: p.Name}
	for _, cue := range p.Cues {
		who.Strokes += len(cue.Strokes)
	}
	opt.Score.Without = []string{p.Name}
	after := check.Check(in.name, r.File, opt)
	was, is := &r.Score.Coverage, &after.Score.Coverage
	who.Lost = max(0, nobody(is)-nobody(was))
	who.Errors = max(0, undoable(after)-undoable(r))
	if was.Written == 0 { // no part says what is to be covered: what she has is lost
		who.Lost = who.Strokes
	}
	return who
}

// undoable is how many errors there are but for what nobody plays.
func undoable(r *check.Result) (n int) {
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Severity == check.Error && f.Rule.Name != check.RuleUncovered {
			n++
		}
	}
	return n
}

// nobody is how many written strokes nobody plays.
func nobody(c *score.Coverage) int { return c.Written - c.Covered - c.Substituted - c.Omitted }

func tally(r *check.Result, s check.Severity) (n int) {
	for i := range r.Findings {
		if r.Findings[i].Severity == s {
			n++
		}
	}
	return n
}

// gathered puts the numbers together.
func gathered(inputs []input, numbers []*libraryNumber) *season {
	all := &season{Numbers: []*libraryNumber{}, People: []part{}, Most: []most{}, Unused: []string{}}
	used := map[string]bool{}
	for _, n := range numbers {
		for _, u := range n.uses {
			used[u] = true
		}
	}
	at := map[[2]string]int{}
	for i, n := range numbers {
		switch {
		case n.pieces || n.gone:
			all.Numbers = append(all.Numbers, n)
		case !used[inputs[i].abs]:
			all.Unused = append(all.Unused, n.File)
		}
		for _, x := range n.Needs {
			key := [2]string{x.Kind, x.Name}
			k, ok := at[key]
			if !ok {
				k = len(all.Most)
				at[key] = k
				all.Most = append(all.Most, most{Kind: x.Kind, Name: x.Name})
			}
			m := &all.Most[k]
			m.N = max(m.N, x.N)
			m.Numbers = append(m.Numbers, n.File)
			if x.Gear != nil && (m.Gear == nil || *x.Gear > *m.Gear) {
				m.Gear = x.Gear
			}
		}
	}
	all.People = peopleOf(numbers)
	order := []string{sheet.NeedInstrument, sheet.NeedBeater, sheet.NeedStand}
	slices.SortStableFunc(all.Most, func(a, b most) int {
		return cmp.Or(slices.Index(order, a.Kind)-slices.Index(order, b.Kind), strings.Compare(a.Name, b.Name))
	})
	return all
}

// peopleOf is what each player is to all numbers, those first without whom most
// of them fall.
func peopleOf(numbers []*libraryNumber) []part {
	people := []part{}
	at := map[string]int{}
	for _, n := range numbers {
		for _, p := range n.Players {
			k, ok := at[p.Name]
			if !ok {
				k = len(people)
				at[p.Name] = k
				people = append(people, part{Name: p.Name})
			}
			one := &people[k]
			one.Numbers++
			one.Strokes += p.Strokes
			if p.Falls() != "" {
				one.Fall++
			}
		}
	}
	slices.SortStableFunc(people, func(a, b part) int {
		return cmp.Or(b.Fall-a.Fall, b.Numbers-a.Numbers, strings.Compare(a.Name, b.Name))
	})
	return people
}

// Found says how the numbers stand, all together.
func (all *season) Found() string {
	var clean, warned, wrong int
	for _, n := range all.Numbers {
		switch {
		case n.gone || n.Errors > 0:
			wrong++
		case n.Warnings > 0:
			warned++
		default:
			clean++
		}
	}
	return fmt.Sprintf("%s: %d can be played as they stand, %d with warnings, %d with errors",
		words.Count(len(all.Numbers), "number", "numbers"), clean, warned, wrong)
}

// fallsWith says how a number falls with a player or a thing; "" where it does
// not.
func (n *libraryNumber) fallsWith(name string) string {
	for _, p := range n.Players {
		if p.Name == name {
			return p.Falls()
		}
	}
	for _, x := range n.Needs {
		if x.Name == name || strings.ReplaceAll(x.Name, " ", "-") == name {
			return fmt.Sprintf("%d of it: %s", x.N, strings.Join(x.Who, ", "))
		}
	}
	return ""
}

// Falls says what is lost without a player; "" where nothing is.
func (p person) Falls() string {
	var parts []string
	if p.Lost > 0 {
		parts = append(parts, words.Count(p.Lost, "stroke is", "strokes are")+" played by nobody")
	}
	if p.Errors > 0 {
		parts = append(parts, words.Count(p.Errors, "thing", "things")+" cannot be done")
	}
	return strings.Join(parts, ", ")
}

// Short says the same below a heading that speaks of strokes.
func (p person) Short() string {
	short := fmt.Sprint(p.Lost)
	if p.Errors > 0 {
		short += ", and " + words.Count(p.Errors, "thing", "things") + " cannot be done"
	}
	return short
}

// Called is a number by its title, or by its file where it has none.
func (n *libraryNumber) Called() string { return cmp.Or(n.Title, n.File) }

// In are the numbers that take a thing, by their titles.
func (all *season) In(m most) (out []string) {
	for _, n := range all.Numbers {
		if slices.Contains(m.Numbers, n.File) {
			out = append(out, n.Called())
		}
	}
	return out
}

// Faster says how fast a number can go.
func (n *libraryNumber) Faster() string {
	switch {
	case n.Ceiling == nil:
		return "nothing limits the tempo"
	case *n.Ceiling == 0:
		return "at no tempo: " + n.Limit
	}
	return fmt.Sprintf("up to %.2f × the written tempo: %s", *n.Ceiling, n.Limit)
}

// Tight is the change with least to spare.
func (n *libraryNumber) Tight() string {
	if n.Spare == nil {
		return ""
	}
	if *n.Spare < 0 {
		return fmt.Sprintf("%s too little: %s", words.Seconds(-*n.Spare), n.Change)
	}
	return fmt.Sprintf("%s to spare: %s", words.Seconds(*n.Spare), n.Change)
}

// State says what the check found.
func (n *libraryNumber) State() string {
	if n.gone {
		return "not checked: the program failed on it"
	}
	return words.Count(n.Errors, "error", "errors") + ", " + words.Count(n.Warnings, "warning", "warnings")
}

// There says how many the gear has.
func (m most) There() string {
	switch {
	case m.Gear == nil:
		return ""
	case *m.Gear < m.N:
		return fmt.Sprintf("the gear has %d: %d too few", *m.Gear, m.N-*m.Gear)
	}
	return fmt.Sprintf("the gear has %d", *m.Gear)
}

func (all *season) text(out io.Writer) {
	for _, n := range all.Numbers {
		name := n.File
		if n.Title != "" {
			name += "  " + n.Title
		}
		fmt.Fprintf(out, "%s\n  %s, %s\n", clean(name), words.Count(n.Bars, "bar", "bars"), n.State())
		if n.gone {
			continue
		}
		fmt.Fprintf(out, "  %s\n", clean(n.Faster()))
		if t := n.Tight(); t != "" {
			fmt.Fprintf(out, "  %s\n", clean(t))
		}
		for _, p := range n.Players {
			falls := p.Falls()
			if falls == "" {
				falls = "nothing is lost"
			}
			fmt.Fprintf(out, "  without %s: %s\n", clean(p.Name), falls)
		}
	}
	fmt.Fprintf(out, "\n%s.\n", all.Found())
	if len(all.People) > 0 {
		fmt.Fprintf(out, "\nWho is missed:\n")
	}
	for _, p := range all.People {
		fmt.Fprintf(out, "  %s\n", clean(fmt.Sprintf("%s: plays in %s, needed in %d", p.Name, words.Count(p.Numbers, "number", "numbers"), p.Fall)))
	}
	fmt.Fprintf(out, "\nThe most of everything that one number takes:\n")
	for _, m := range all.Most {
		line := fmt.Sprintf("%d × %s, in %s", m.N, m.Name, words.Count(len(m.Numbers), "number", "numbers"))
		if there := m.There(); there != "" {
			line += "; " + there
		}
		fmt.Fprintf(out, "  %s\n", clean(line))
	}
	if len(all.Unused) > 0 {
		fmt.Fprintf(out, "\nNobody uses: %s\n", clean(strings.Join(all.Unused, ", ")))
	}
}

// without says which numbers fall with somebody or something.
func (all *season) without(out io.Writer, names []string) {
	for _, name := range names {
		n := 0
		for _, number := range all.Numbers {
			if how := number.fallsWith(name); how != "" {
				fmt.Fprintf(out, "%s: %s\n", clean(number.File), clean(how))
				n++
			}
		}
		fall := "fall"
		if n == 1 {
			fall = "falls"
		}
		fmt.Fprintf(out, "%s of %d %s with %s\n", words.Count(n, "number", "numbers"), len(all.Numbers), fall, clean(name))
	}
}

// table is who plays in which number: how many strokes each has.
func (all *season) table(out io.Writer) error {
	people := map[string]bool{}
	for _, n := range all.Numbers {
		for _, p := range n.Players {
			people[p.Name] = true
		}
	}
	names := slices.Sorted(maps.Keys(people))
	w := csv.NewWriter(out)
	head := []string{"number"}
	for _, name := range names {
		head = append(head, cell(name))
	}
	w.Write(head)
	for _, n := range all.Numbers {
		row := []string{cell(n.File)}
		for _, name := range names {
			strokes := ""
			if k := slices.IndexFunc(n.Players, func(p person) bool { return p.Name == name }); k >= 0 {
				strokes = fmt.Sprint(n.Players[k].Strokes)
			}
			row = append(row, strokes)
		}
		w.Write(row)
	}
	w.Flush()
	return w.Error()
}

// cell is a text that no spreadsheet takes for a formula.
func cell(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
}

//go:embed library.html
var libraryHTML string

var libraryPage = sync.OnceValue(func() *template.Template { return template.Must(template.New("library").Parse(libraryHTML)) })
