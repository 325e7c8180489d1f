package main

import (
	"fmt"
	"io"
	"os"
	"time"

	"github.com/findslip/findslip/pkg/pipeline"
)

// progress says on a terminal how far a long reading is: after a second, five times a second at most, in one line
// that goes away with clear.
type progress struct {
	w     io.Writer
	now   func() time.Time
	next  time.Time
	shown bool
}

const (
	progressFirst = time.Second
	progressEvery = time.Second / 5
)

// progress lets o say how far the reading is if standard error is a terminal. The returned function clears the line;
// it is to be called before anything else is said.
func (p *program) progress(o *pipeline.Options) (clear func()) {
	if p.quiet || !isTerminal(p.err) || os.Getenv("TERM") == "dumb" {
		return func() {}
	}
	return watch(p.err, time.Now, o).clear
}

func watch(w io.Writer, now func() time.Time, o *pipeline.Options) *progress {
	g := &progress{w: w, now: now, next: now().Add(progressFirst)}
	o.Table.Looked = func(rows int) { g.say("looking through the table: %d rows", rows) }
	o.Progress = func(read, of int) {
		if of < read {
			g.say("%d finds read", read)
			return
		}
		g.say("%d of %d finds read", read, of)
	}
	return g
}

func (g *progress) say(format string, args ...any) {
	if now := g.now(); !now.Before(g.next) {
		g.next, g.shown = now.Add(progressEvery), true
		fmt.Fprintf(g.w, "\r\x1b[K"+format, args...)
	}
}

func (g *progress) clear() {
	if g.shown {
		fmt.Fprint(g.w, "\r\x1b[K")
		g.shown = false
	}
}
