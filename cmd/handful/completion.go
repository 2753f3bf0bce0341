package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"

	"example.org/handful/lang/check"
	"example.org/handful/lang/guide"
	"example.org/handful/lang/kit"
)

type completionVerb struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

func (v *completionVerb) Help() string {
	return `  source <(handful completion bash)
  source <(handful completion zsh)
  handful completion fish | source`
}

// verb is what a shell needs to know of one verb.
type verb struct {
	name, help string
	flags      []option
	words      []string // what may stand behind it
	files      bool     // files may stand behind it
}

type option struct {
	name, help string
	takes      bool     // a value stands behind it
	values     []string // which ones, if the choice is small
}

// verbsOf reads the verbs and flags off the command line's own model.
func verbsOf(app *kong.Application) []verb {
	var out []verb
	for _, node := range app.Children {
		v := verb{name: node.Name, help: strings.TrimSuffix(node.Help, ".")}
		for _, f := range node.Flags {
			v.flags = append(v.flags, option{name: "--" + f.Name, help: strings.TrimSuffix(f.Help, "."), takes: !f.IsBool(), values: choices(f.Value)})
		}
		for _, arg := range node.Positional {
			v.words = append(v.words, choices(arg)...)
		}
		switch node.Name {
		case "explain":
			for _, r := range check.Rules() {
				v.words = append(v.words, r.Name)
			}
		case "guide":
			for _, e := range guide.Entries() {
				v.words = append(v.words, e.Name)
			}
		case "instruments":
			for _, in := range kit.Standard().Instruments() {
				v.words = append(v.words, in.ID)
			}
			for _, im := range kit.Standard().Implements() {
				v.words = append(v.words, im.ID)
			}
		case "check", "fmt", "new", "sheet", "plan", "import", "export":
			v.files = true
		}
		out = append(out, v)
	}
	return out
}

func choices(v *kong.Value) []string {
	if v.Enum == "" {
		return nil
	}
	return strings.Split(v.Enum, ",")
}

func (v *completionVerb) Run(s *streams) error {
	verbs := verbsOf(s.model)
	var b strings.Builder
	switch v.Shell {
	case "bash":
		bash(&b, verbs)
	case "zsh":
		b.WriteString("(( $+functions[compdef] )) || { autoload -U compinit && compinit; }\nautoload -U +X bashcompinit && bashcompinit\n")
		bash(&b, verbs)
	case "fish":
		fish(&b, verbs)
	}
	_, err := io.WriteString(s.data(), b.String())
	return err
}

// bash writes a function that first looks at the word before, for a flag's
// values, then at the verb. Where it finds nothing the shell offers files.
func bash(b *strings.Builder, verbs []verb) {
	names := make([]string, len(verbs))
	for i, v := range verbs {
		names[i] = v.name
	}
	fmt.Fprintf(b, `_handful() {
  local cur=${COMP_WORDS[COMP_CWORD]} words= flags=
  COMPREPLY=()
  if [ "$COMP_CWORD" -eq 1 ]; then
    words='%s'
  else
    case "${COMP_WORDS[1]} ${COMP_WORDS[COMP_CWORD-1]}" in
`, strings.Join(names, " "))
	for _, v := range verbs {
		for _, f := range v.flags {
			if f.takes {
				fmt.Fprintf(b, "    '%s %s') COMPREPLY=($(compgen -W '%s' -- \"$cur\")); return ;;\n", v.name, f.name, strings.Join(f.values, " "))
			}
		}
	}
	b.WriteString("    esac\n    case \"${COMP_WORDS[1]}\" in\n")
	for _, v := range verbs {
		var flags []string
		for _, f := range v.flags {
			flags = append(flags, f.name)
		}
		fmt.Fprintf(b, "    %s) words='%s' flags='%s' ;;\n", v.name, strings.Join(v.words, " "), strings.Join(flags, " "))
	}
	b.WriteString(`    esac
    case "$cur" in -*) words=$flags ;; esac
  fi
  COMPREPLY=($(compgen -W "$words" -- "$cur"))
}
complete -o default -F _handful handful
`)
}

func fish(b *strings.Builder, verbs []verb) {
	for _, v := range verbs {
		fmt.Fprintf(b, "complete -c handful -n __fish_use_subcommand -f -a %s -d %s\n", v.name, fishQuote(v.help))
		in := fmt.Sprintf("complete -c handful -n '__fish_seen_subcommand_from %s'", v.name)
		for _, f := range v.flags {
			takes := ""
			switch {
			case len(f.values) > 0:
				takes = " -x -a " + fishQuote(strings.Join(f.values, " "))
			case f.takes:
				takes = " -x"
			}
			fmt.Fprintf(b, "%s -l %s%s -d %s\n", in, strings.TrimPrefix(f.name, "--"), takes, fishQuote(f.help))
		}
		if len(v.words) > 0 {
			fmt.Fprintf(b, "%s -f -a %s\n", in, fishQuote(strings.Join(v.words, " ")))
		}
		if !v.files && len(v.words) == 0 {
			fmt.Fprintf(b, "%s -f\n", in)
		}
	}
}

func fishQuote(text string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(text) + "'"
}
