package pipeline

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"github.com/findslip/findslip/pkg/internal/scratch"
	"github.com/findslip/findslip/pkg/limit"
)

// source is what every codec can read: from the start, more than once, at any place.
type source interface {
	io.ReadSeeker
	io.ReaderAt
}

// opened is an input that can be read from.
type opened struct {
	source
	size    int64
	close   func() error
	changed func() error // says whether the file is another one than when it was opened; nil: it cannot be
}

// watched stops reading when the work is to stop.
type watched struct {
	source
	ctx context.Context
}

func (w watched) Read(p []byte) (int, error) {
	if err := w.ctx.Err(); err != nil {
		return 0, err
	}
	return w.source.Read(p)
}

func (w watched) ReadAt(p []byte, at int64) (int, error) {
	if err := w.ctx.Err(); err != nil {
		return 0, err
	}
	return w.source.ReadAt(p, at)
}

// context returns what can stop the reading.
func (o *Options) context() context.Context {
	if o.ctx == nil {
		return context.Background()
	}
	return o.ctx
}

// openSource opens a file, or what can be read only once, and keeps to the limits Bytes and Spool.
func openSource(name string, o Options) (*opened, error) {
	limits := o.Limits.WithDefaults()
	if name == "-" {
		if o.Stdin == nil {
			return nil, &InputError{File: "standard input", Code: "input-missing", Msg: "there is no standard input"}
		}
		return spool(&o, "standard input", o.Stdin, limits)
	}
	info, err := o.stat(name)
	if err != nil {
		return nil, unreadable(name, err)
	}
	switch mode := info.Mode(); {
	case mode.IsDir():
		return nil, &InputError{File: name, Code: "file-is-folder", Msg: "this is a folder, not a file",
			Help: "name a file in it"}
	case mode&fs.ModeDevice != 0:
		return nil, &InputError{File: name, Code: "file-is-device", Msg: "this is a device, not a file",
			Help: "name a file, or - for standard input"}
	}
	f, err := o.open(name, info)
	if err != nil {
		return nil, err
	}
	if info, err = f.Stat(); err != nil { // it may have changed places since
		return nil, errors.Join(unreadable(name, err), f.Close())
	}
	at, direct := f.(io.ReaderAt)
	if !info.Mode().IsRegular() || !direct {
		src, err := spool(&o, name, f, limits)
		return src, errors.Join(err, f.Close())
	}
	if info.Size() > limits.Bytes {
		return nil, errors.Join(tooLarge(name, limit.Over("bytes", limits.Bytes)), f.Close())
	}
	// A file that grows is read to the size that it had.
	src := io.NewSectionReader(at, 0, info.Size())
	return &opened{source: watched{src, o.context()}, size: info.Size(), close: f.Close, changed: func() error {
		now, err := f.Stat()
		if err != nil || now.Size() != info.Size() || !now.ModTime().Equal(info.ModTime()) {
			return &InputError{File: name, Code: "file-changed", Msg: "the file was changed while it was read",
				Help: "wait until the program that writes it has finished, and try again"}
		}
		return nil
	}}, nil
}

// stat and open look names up in Options.FS, or in the file system of the machine.
func (o *Options) stat(name string) (fs.FileInfo, error) {
	if o.FS != nil {
		return fs.Stat(o.FS, name)
	}
	return os.Stat(name)
}

func (o *Options) open(name string, info fs.FileInfo) (f fs.File, err error) {
	switch {
	case o.FS != nil:
		f, err = o.FS.Open(name)
	case info.Mode()&fs.ModeNamedPipe != 0:
		return openPipe(o.context(), name)
	default:
		f, err = os.Open(name)
	}
	if err != nil {
		return nil, unreadable(name, err)
	}
	return f, nil
}

// pipeWait is how long a pipe may be without anybody who writes to it.
const pipeWait = 2 * time.Second

// openPipe opens a named pipe. Opening waits for somebody who writes, so it is done aside and given up in time.
func openPipe(ctx context.Context, name string) (fs.File, error) {
	type outcome struct {
		f   *os.File
		err error
	}
	done := make(chan outcome, 1)
	go func() {
		f, err := os.Open(name)
		done <- outcome{f, err}
	}()
	timer := time.NewTimer(pipeWait)
	defer timer.Stop()
	giveUp := func() {
		if w, err := os.OpenFile(name, os.O_RDWR, 0); err == nil { // lets the opening end
			got := <-done
			_ = errors.Join(w.Close(), got.f.Close())
		}
	}
	select {
	case got := <-done:
		if got.err != nil {
			return nil, unreadable(name, got.err)
		}
		return got.f, nil
	case <-ctx.Done():
		giveUp()
		return nil, fmt.Errorf("reading %s: %w", name, ctx.Err())
	case <-timer.C:
		giveUp()
		return nil, &InputError{File: name, Code: "pipe-without-writer", Msg: "this is a pipe, and nobody writes to it",
			Help: "start the program that writes first, or name a file"}
	}
}

// unreadable says why a file cannot be opened.
func unreadable(name string, err error) error {
	e := &InputError{File: name, Code: "file-unreadable", Msg: "the file cannot be opened", Err: err}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		e.Code, e.Msg, e.Help = "file-missing", "there is no such file", "look at the spelling and the folder"
	case errors.Is(err, fs.ErrPermission):
		e.Msg, e.Help = "the file may not be read", "ask for the right to read it"
	}
	return e
}

func tooLarge(name string, over *limit.Error) error {
	return &InputError{File: name, Code: "input-too-large", Msg: over.What(), Help: over.Help(), Err: over}
}

// spoolMemory is how much of an input that can be read only once is held in memory; more goes to a
// temporary file.
const spoolMemory = 8 << 20

// spool keeps an input that can be read only once.
func spool(o *Options, name string, r io.Reader, limits limit.Limits) (*opened, error) {
	ctx := o.context()
	r = limit.Reader(cancellable{ctx, r}, "spool", limits.Spool)
	fail := func(err error) error {
		if over := limit.Of(err); over != nil {
			return tooLarge(name, over)
		}
		return fmt.Errorf("reading %s: %w", name, err)
	}
	head, err := io.ReadAll(io.LimitReader(r, spoolMemory))
	if err != nil {
		return nil, fail(err)
	}
	if len(head) < spoolMemory {
		return &opened{source: watched{bytes.NewReader(head), ctx}, size: int64(len(head)),
			close: func() error { return nil }}, nil
	}
	f, err := scratch.New()
	if err != nil { // no folder for it, as in a browser: memory then
		rest, err := io.ReadAll(r)
		if err != nil {
			return nil, fail(err)
		}
		all := append(head, rest...)
		return &opened{source: watched{bytes.NewReader(all), ctx}, size: int64(len(all)), close: func() error { return nil }},
			nil
	}
	o.Unfinished.begin(f.Left())
	done := func() error {
		defer o.Unfinished.end(f.Left())
		return f.Close()
	}
	size, err := io.Copy(f, io.MultiReader(bytes.NewReader(head), r))
	if err != nil {
		return nil, errors.Join(fail(plain(err)), done())
	}
	return &opened{source: watched{f, ctx}, size: size, close: done}, nil
}

// cancellable reads from what may block for ever, such as a terminal, and returns when the context is cancelled.
type cancellable struct {
	ctx context.Context
	r   io.Reader
}

func (p cancellable) Read(b []byte) (int, error) {
	type outcome struct {
		n   int
		err error
	}
	if err := p.ctx.Err(); err != nil {
		return 0, err
	}
	if p.ctx.Done() == nil {
		return p.r.Read(b)
	}
	own := make([]byte, len(b)) // a read that was given up may still write
	read := make(chan outcome, 1)
	go func() {
		n, err := p.r.Read(own)
		read <- outcome{n, err}
	}()
	select {
	case o := <-read:
		return copy(b, own[:o.n]), o.err
	case <-p.ctx.Done():
		return 0, p.ctx.Err()
	}
}

// PictureFolder opens the folder in which the pictures of a report lie. Names and links lead
// nowhere outside it, and nothing but files is opened. Close it when the work is done.
func PictureFolder(name string) (fs.FS, func() error, error) {
	if info, err := os.Stat(name); err == nil && !info.IsDir() { // a pipe would be waited for
		return nil, nil, fmt.Errorf("%q is not a folder", name)
	}
	root, err := os.OpenRoot(name)
	if err != nil {
		return nil, nil, fmt.Errorf("%q is not a folder that can be read", name)
	}
	return filesOnly{root.FS()}, root.Close, nil
}

// filesOnly opens regular files only: a pipe would keep the reader waiting, a device has no end.
type filesOnly struct{ fs.FS }

func (f filesOnly) Open(name string) (fs.File, error) {
	info, err := fs.Stat(f.FS, name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() && !info.IsDir() {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	return f.FS.Open(name)
}

// Stat tells of a file without opening it.
func (f filesOnly) Stat(name string) (fs.FileInfo, error) { return fs.Stat(f.FS, name) }

// OpenSide opens a file beside the input, such as a column map or proposals. It must be a file.
func OpenSide(name string) (*os.File, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, unreadable(name, err)
	}
	if !info.Mode().IsRegular() {
		return nil, &InputError{File: name, Code: "file-is-device", Msg: "this is a folder, a pipe or a device, not a file",
			Help: "name a file"}
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, unreadable(name, err)
	}
	return f, nil
}
