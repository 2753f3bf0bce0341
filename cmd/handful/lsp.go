package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"golang.org/x/term"

	"handful/lsp"
)

type lspVerb struct {
	Listen string `placeholder:"127.0.0.1:PORT" help:"Serve every connection to this loopback address instead of standard input and output."`
	Web    string `placeholder:"127.0.0.1:PORT" help:"The same over WebSocket, for a page on this machine."`
	Stdio  bool   `help:"Serve standard input and output; the default."`
	Log    bool   `help:"Say on standard error what goes wrong with messages."`
}

func (v *lspVerb) Help() string {
	return `Editors start this and speak the Language Server Protocol with it. It reads nothing outside the
workspace folders that the editor names, writes no file, and listens on nothing but loopback.`
}

func (v *lspVerb) Run(s *streams) error {
	opt := lsp.Options{Version: version(), Alive: alive}
	if v.Log {
		opt.Log = s.err
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	switch {
	case v.Listen != "" && v.Web != "":
		return errors.New("--listen and --web are two servers: start one of them")
	case v.Listen != "" || v.Web != "":
		l, err := lsp.Listen(v.Listen + v.Web)
		if err != nil {
			return err
		}
		fmt.Fprintf(s.err, "handful: listening on %s\n", l.Addr())
		opt.Alive = nil // who connects is no parent of this process
		if v.Web != "" {
			return lsp.ServeWeb(ctx, l, opt)
		}
		return lsp.ServeTCP(ctx, l, opt)
	}
	if f, ok := s.in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		fmt.Fprintln(s.err, "handful: this is for editors, which talk to it on standard input and output; Ctrl-C ends it")
	}
	if code := lsp.ServeStdio(ctx, io.NopCloser(s.in), s.out, opt); code != 0 {
		return exitCode(code)
	}
	return nil
}
