package main

import (
	"fmt"
	"io"
	"slices"
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

// verb is what a shell and the manual need to know of one verb.
type verb struct {
	name, help string
	called     string // with what stands behind it
	detail     string // what is said of it besides
	flags      []option
	arguments  []argument
	words      []string // what may stand behind it
	files      bool     // files may stand behind it
}

type option struct {
	name, help string
	written    string   // with the value that stands behind it
	takes      bool     // a value stands behind it
	values     []string // which ones, if the choice is small
}

type argument struct{ name, help string }

// verbsOf reads the verbs and flags off the command line's own model.
func verbsOf(app *kong.Application) []verb {
	var out []verb
	for _, node := range app.Children {
		v := verb{name: node.Name, called: node.Name, help: strings.TrimSuffix(node.Help, "."), detail: node.Detail}
		for _, f := range node.Flags {
			v.flags = append(v.flags, option{name: "--" + f.Name, written: f.String(), help: strings.TrimSuffix(f.Help, "."), takes: !f.IsBool(), values: choices(f.Value)})
		}
		for _, arg := range node.Positional {
			v.called += " " + arg.Summary()
			v.arguments = append(v.arguments, argument{arg.Name, arg.Help})
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
		case "check", "fmt", "new", "sheet", "plan", "import", "export", "library", "watch", "merge", "init":
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
	return slices.DeleteFunc(strings.Split(v.Enum, ","), func(word string) bool { return word == "" }) // which is that it is not given
}

func (v *completionVerb) Run(s *streams) error {
	verbs := verbsOf(s.model)
	var b strings.Builder
	switch v.Shell {
	case "bash":
		bash(&b, verbs)
	case "zsh":
		zsh(&b, verbs)
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

// zsh writes a function that works both ways: read by the shell itself, and as a
// file of its own where the shell looks for completions.
func zsh(b *strings.Builder, verbs []verb) {
	b.WriteString(`#compdef handful
(( $+functions[compdef] )) || { autoload -U compinit && compinit; }
_handful() {
  local -a verbs
  if (( CURRENT == 2 )); then
    verbs=(
`)
	for _, v := range verbs {
		fmt.Fprintf(b, "      %s\n", shellQuote(v.name+":"+v.help))
	}
	b.WriteString(`    )
    _describe -t verbs verb verbs
    return
  fi
  local verb=$words[2]
  shift words
  (( CURRENT-- ))
  case $verb in
`)
	for _, v := range verbs {
		fmt.Fprintf(b, "  %s) _arguments -S", v.name)
		for _, f := range v.flags {
			spec := "*" + f.name // what may not be given twice the command itself says
			if f.takes {
				spec += "="
			}
			spec += "[" + zshText.Replace(f.help) + "]"
			switch {
			case len(f.values) > 0:
				spec += ":value:(" + strings.Join(f.values, " ") + ")"
			case f.takes:
				spec += ":value:_files"
			}
			fmt.Fprintf(b, " \\\n    %s", shellQuote(spec))
		}
		switch {
		case len(v.words) > 0:
			fmt.Fprintf(b, " \\\n    %s", shellQuote("*:word:("+strings.Join(v.words, " ")+")"))
		case v.files:
			fmt.Fprintf(b, " \\\n    %s", shellQuote("*:file:_files"))
		}
		b.WriteString(" ;;\n")
	}
	b.WriteString(`  esac
}
if [[ $funcstack[1] == _handful ]]; then
  _handful "$@"
else
  compdef _handful handful
fi
`)
}

// zshText is a description inside of a specification.
var zshText = strings.NewReplacer(`\`, `\\`, "[", `\[`, "]", `\]`, ":", `\:`)

// shellQuote is a word for a shell that reads quotes as the standard has them.
func shellQuote(text string) string {
	return "'" + strings.ReplaceAll(text, "'", `'\''`) + "'"
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
