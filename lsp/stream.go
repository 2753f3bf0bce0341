package lsp

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"go.lsp.dev/jsonrpc2"
)

// Bounds on what one message may be.
const (
	maxMessage = 256 << 20 // bytes of a message's body
	maxHeader  = 8 << 10   // bytes of a message's header
)

// A framed stream parts the bytes of a connection into messages, each behind
// a header with its length. The library's own stream takes any length on
// trust and ends the connection at the first message that is not JSON; this
// one reads no more than was really sent and answers what it cannot read.
type framed struct {
	in     *bufio.Reader
	out    io.Writer
	closer io.Closer
	body   bytes.Buffer
	mu     sync.Mutex // one message is written at a time
	frame  []byte
	most   atomic.Int64 // bytes of a message's body

	// Over the network: a header that is none of the protocol's ends the
	// connection, and so does a message that is not taken in time.
	strict bool
	before func() // called before a message is written
}

func newFramed(in io.Reader, out io.Writer, closer io.Closer) *framed {
	f := &framed{in: bufio.NewReaderSize(in, 64<<10), out: out, closer: closer}
	f.most.Store(maxMessage)
	return f
}

func (f *framed) Read(ctx context.Context) (jsonrpc2.Message, int64, error) {
	for {
		if err := ctx.Err(); err != nil {
			return nil, 0, err
		}
		n, err := f.length()
		if err != nil {
			return nil, 0, err
		}
		f.body.Reset()
		if got, err := io.CopyN(&f.body, f.in, int64(n)); err != nil {
			if got > 0 || errors.Is(err, io.EOF) {
				err = io.ErrUnexpectedEOF
			}
			return nil, 0, err
		}
		msg, err := jsonrpc2.DecodeMessage(bytes.Clone(f.body.Bytes()))
		if f.body.Cap() > 1<<20 {
			f.body = bytes.Buffer{} // a large document does not stay in memory twice
		}
		if err == nil {
			return msg, int64(n), nil
		}
		if err := answerUnreadable(ctx, f, err); err != nil {
			return nil, 0, err
		}
	}
}

// answerUnreadable tells the other side about a message that is no message.
func answerUnreadable(ctx context.Context, s jsonrpc2.Stream, err error) error {
	wire := jsonrpc2.NewError(jsonrpc2.ParseError, "this message is not JSON-RPC: "+err.Error())
	_, werr := s.Write(ctx, jsonrpc2.NewResponse(jsonrpc2.ID{}, nil, wire))
	return werr
}

// length reads a header and gives the length it announces.
func (f *framed) length() (int, error) {
	n, size := -1, 0
	for {
		line, err := f.in.ReadSlice('\n')
		size += len(line)
		switch {
		case errors.Is(err, io.EOF) && size == 0:
			return 0, io.EOF
		case errors.Is(err, io.EOF):
			return 0, io.ErrUnexpectedEOF
		case errors.Is(err, bufio.ErrBufferFull) || size > maxHeader:
			return 0, errors.New("a message's header is too long")
		case err != nil:
			return 0, err
		}
		text := strings.TrimRight(string(line), "\r\n")
		if text == "" {
			if n < 0 {
				return 0, errors.New("a message's header does not say its Content-Length")
			}
			return n, nil
		}
		name, value, _ := strings.Cut(text, ":")
		switch name = strings.TrimSpace(name); {
		case strings.EqualFold(name, "Content-Length"):
		case f.strict && !strings.EqualFold(name, "Content-Type"):
			return 0, errors.New("this is no message of an editor")
		default:
			continue
		}
		n, err = strconv.Atoi(strings.TrimSpace(value))
		if most := f.most.Load(); err != nil || n < 0 || int64(n) > most {
			return 0, fmt.Errorf("a message cannot be %s bytes long; %d is the most", strings.TrimSpace(value), most)
		}
	}
}

func (f *framed) Write(ctx context.Context, msg jsonrpc2.Message) (int64, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	// The message is written behind room for its header, so that a long one is not copied.
	const room = len("Content-Length: 9223372036854775807\r\n\r\n")
	f.frame = jsonrpc2.AppendMessage(append(f.frame[:0], make([]byte, room)...), msg)
	header := strconv.AppendInt([]byte("Content-Length: "), int64(len(f.frame)-room), 10)
	header = append(header, "\r\n\r\n"...)
	frame := f.frame[room-len(header):]
	copy(frame, header)
	if f.before != nil {
		f.before()
	}
	n, err := f.out.Write(frame)
	if err != nil && f.before != nil {
		f.closer.Close() // half a message may be gone: nothing behind it would be understood
	}
	if cap(f.frame) > 1<<20 {
		f.frame = nil
	}
	return int64(n), err
}

func (f *framed) Close() error { return f.closer.Close() }
