package check

//go:generate go run ./internal/list

// textRule is a rule about the text itself: what the binding of the score
// could not make sense of, reported under the rule's name.
func textRule(r Rule) *Rule {
	r.Severities = []Severity{Error}
	r.text = true
	name := r.Name
	r.Look = func(c *Context) {
		for i := range c.Score.Problems {
			if p := &c.Score.Problems[i]; p.Rule == name {
				f := c.In(p.Where).about(Error, p.About)
				f.Related = p.Related
				f.orNear(p.Named)
				for _, read := range p.Readings {
					title := "write " + read.Text
					if read.Says != "" {
						title += ": " + read.Says
					}
					f.propose(title, len(p.Readings) > 1, replace(p.Where, read.Text))
				}
			}
		}
	}
	return &r
}
