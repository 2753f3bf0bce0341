package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"golang.org/x/term"

	"example.org/handful/lsp"
)

type lspVerb struct {
	Folders []string `arg:"" optional:"" name:"folder" help:"Read nothing outside these folders, whatever the client names; --listen and --web read no other in any case."`
	Listen  string   `placeholder:"127.0.0.1:PORT" help:"Serve connections to this loopback address instead of standard input and output."`
	Web     string   `placeholder:"127.0.0.1:PORT" help:"The same over WebSocket, for a page on this machine."`
	Stdio   bool     `help:"Serve standard input and output; the default."`
	Log     bool     `help:"Say on standard error what goes wrong with messages."`
}

func (v *lspVerb) Help() string {
	return `Editors start this and speak the Language Server Protocol with it. It reads nothing outside the
workspace folders that the editor names, writes no file there, and listens on nothing but loopback. The codes of findings lead
to the handbook, whose pages it writes once into a folder of your own cache, unless the editor says where they are.

  handful lsp                                what an editor starts
  handful lsp --web 127.0.0.1:0 shows        for a page: prints the address, with a word nobody guesses
  handful lsp --listen 127.0.0.1:0 shows     prints the same word, which the editor sends as
                                             "token" in its initializationOptions

Over the network only pages of this machine may connect, only who knows the word, and only the folders named here are read.`
}

func (v *lspVerb) Run(s *streams) error {
	opt := lsp.Options{Version: version(), Alive: alive, Quiet: time.Second, Paused: clearAway, Confined: len(v.Folders) > 0}
	for _, f := range v.Folders {
		info, err := os.Stat(f)
		if err == nil && !info.IsDir() {
			err = fmt.Errorf("%s is no folder", f)
		}
		if err == nil {
			f, err = filepath.Abs(f)
		}
		if err != nil {
			return err
		}
		opt.Folders = append(opt.Folders, f)
	}
	if v.Log {
		opt.Log = s.err
	}
	switch {
	case v.Listen != "" && v.Web != "":
		return errors.New("--listen and --web are two servers: start one of them")
	case v.Listen != "" || v.Web != "":
		l, err := lsp.Listen(v.Listen + v.Web)
		if err != nil {
			return err
		}
		token := lsp.NewToken()
		opt.Alive = nil // who connects is no parent of this process
		if v.Web != "" {
			fmt.Fprintf(s.err, "handful: listening on %s\n", lsp.WebURL(l, token))
			return lsp.ServeWeb(s.ctx, l, token, opt)
		}
		fmt.Fprintf(s.err, "handful: listening on %s, token %s\n", l.Addr(), token)
		return lsp.ServeTCP(s.ctx, l, token, opt)
	}
	if f, ok := s.in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		fmt.Fprintln(s.err, "handful: this is for editors, which talk to it on standard input and output; Ctrl-C ends it")
	}
	opt.Handbook = newOwnHandbook(s).in
	if code := lsp.ServeStdio(s.ctx, io.NopCloser(s.in), raw{s.out}, opt); code != 0 {
		return exitCode(code)
	}
	return nil
}
