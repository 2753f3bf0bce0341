package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"
)

// signalled says which signal asked a command to end.
type signalled struct{ os.Signal }

func (s signalled) Error() string { return "interrupted" }

// code is the exit code that shells give to a command that ended so.
func (s signalled) code() int {
	if n, ok := s.Signal.(syscall.Signal); ok {
		return 128 + int(n)
	}
	return exitInterrupted
}

// grace is how long a command has to end by itself.
const grace = 3 * time.Second

// interruptible is a context that ends when the command is asked to end. What
// does not end by then is ended; so does a second signal at once.
func interruptible() context.Context {
	ctx, cancel := context.WithCancelCause(context.Background())
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	go func() {
		by := signalled{<-signals}
		signal.Stop(signals)
		signal.Reset(os.Interrupt, syscall.SIGTERM)
		cancel(by)
		time.Sleep(grace)
		os.Exit(by.code())
	}()
	return ctx
}

// unfinished is the error of a command that was interrupted, with how far it
// came.
type unfinished struct{ far string }

func (u unfinished) Error() string { return "interrupted: " + u.far }

// interrupted says whether the command was asked to end.
func (s *streams) interrupted() bool { return s.ctx.Err() != nil }

// endsWith is the exit code of an interrupted command.
func (s *streams) endsWith() int {
	var by signalled
	if errors.As(context.Cause(s.ctx), &by) {
		return by.code()
	}
	return exitInterrupted
}

// waiting does something that may wait for somebody else, such as reading from
// a terminal, and does not go on with it when the command is interrupted. Of a
// command that was interrupted first nothing is read, however quickly it could
// be: select takes either of two that are ready.
func (s *streams) waiting(read func() (string, error)) (string, error) {
	if s.ctx.Done() == nil {
		return read()
	}
	var text string
	var err error
	done := make(chan struct{})
	if !s.interrupted() {
		go func() {
			defer close(done)
			text, err = read()
		}()
		select {
		case <-done:
		case <-s.ctx.Done():
		}
	}
	if s.interrupted() {
		return "", unfinished{"nothing was read to its end, and nothing is answered"}
	}
	return text, err
}

// share says how many of many things were done.
func share(done, all int, what string) string { return fmt.Sprintf("%d of %d %s", done, all, what) }
