package main

import (
	"fmt"
	"strings"

	"github.com/alecthomas/kong"

	"handful/lang/check"
	"handful/lang/kit"
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
	flags      []string
	words      []string // what may stand behind it, besides files
	files      bool
}

func verbsOf(app *kong.Application) []verb {
	var out []verb
	for _, node := range app.Children {
		v := verb{name: node.Name, help: strings.TrimSuffix(node.Help, ".")}
		for _, f := range node.Flags {
			v.flags = append(v.flags, "--"+f.Name)
		}
		switch node.Name {
		case "explain":
			for _, r := range check.Rules() {
				v.words = append(v.words, r.Name)
			}
		case "instruments":
			for _, in := range kit.Standard().Instruments() {
				v.words = append(v.words, in.ID)
			}
		case "completion":
			v.words = []string{"bash", "zsh", "fish"}
		case "check", "fmt", "new":
			v.files = true
		}
		out = append(out, v)
	}
	return out
}

func (v *completionVerb) Run(s *streams) error {
	verbs := verbsOf(s.model)
	var b strings.Builder
	switch v.Shell {
	case "bash":
		bash(&b, verbs)
	case "zsh":
		b.WriteString("autoload -U +X bashcompinit && bashcompinit\n")
		bash(&b, verbs)
	case "fish":
		fish(&b, verbs)
	}
	_, err := fmt.Fprint(s.out, b.String())
	return err
}

func bash(b *strings.Builder, verbs []verb) {
	var names []string
	for _, v := range verbs {
		names = append(names, v.name)
	}
	fmt.Fprintf(b, "_handful() {\n  local cur=${COMP_WORDS[COMP_CWORD]}\n  if [ \"$COMP_CWORD\" -eq 1 ]; then\n    COMPREPLY=($(compgen -W %q -- \"$cur\"))\n    return\n  fi\n  case ${COMP_WORDS[1]} in\n", strings.Join(names, " "))
	for _, v := range verbs {
		files := ""
		if v.files {
			files = " -o default"
		}
		fmt.Fprintf(b, "  %s) COMPREPLY=($(compgen%s -W %q -- \"$cur\")) ;;\n", v.name, files, strings.Join(append(v.words, v.flags...), " "))
	}
	b.WriteString("  esac\n}\ncomplete -o default -F _handful handful\n")
}

func fish(b *strings.Builder, verbs []verb) {
	for _, v := range verbs {
		fmt.Fprintf(b, "complete -c handful -n __fish_use_subcommand -f -a %s -d %q\n", v.name, v.help)
		for _, f := range v.flags {
			fmt.Fprintf(b, "complete -c handful -n '__fish_seen_subcommand_from %s' -l %s\n", v.name, strings.TrimPrefix(f, "--"))
		}
		if len(v.words) > 0 {
			fmt.Fprintf(b, "complete -c handful -n '__fish_seen_subcommand_from %s' -f -a %q\n", v.name, strings.Join(v.words, " "))
		}
	}
}
